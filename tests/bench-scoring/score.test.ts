import { describe, expect, it } from 'vitest';
import type { AlertKind, Phase } from '../../daemon/core/events.ts';
import type { FiringFacts, TrueFault } from '../bench/alerts-corpus.ts';
import type { Told } from '../bench/alerts-feed.ts';
import { deadlineOf } from '../bench/alerts-kinds.ts';
import { type FaultScore, joined, scoreFiring, wholeAlerts } from '../bench/alerts-score.ts';

const HOUR_S = 3600;
const WATCHED_S = 8 * HOUR_S;

function fault(kind: AlertKind, onsetS: number, more: Partial<TrueFault> = {}): TrueFault {
  return { kind, onsetS, harmS: null, endsS: null, at15CS: null, atToleranceS: null, ...more };
}

function facts(faults: readonly TrueFault[], harms: FiringFacts['harms'] = []): FiringFacts {
  const about = { number: 1, fault: null, heat: 'gas', sampleS: 5, couple: 'bare', lagS: 5 } as const;
  return { ...about, hasLidSwitch: false, toleranceC: 6, faults, harms };
}

/** An alert's stages, each phase at its second. */
function alert(id: string, kind: AlertKind, stages: Partial<Record<Phase, number>>): Told[] {
  return Object.entries(stages).map(([phase, atS]) => {
    return { atS, id, kind, phase: phase as Phase, priority: 'now', message: `${kind} ${phase}` };
  });
}

function score(faults: readonly TrueFault[], told: readonly Told[], causes: readonly string[] = []) {
  const brings = faults[0]?.kind ?? null;
  return scoreFiring(facts(faults), { brings, causes }, told, WATCHED_S);
}

function first(scored: { readonly faults: readonly FaultScore[] }): FaultScore {
  const [one] = scored.faults;
  if (one === undefined) throw new Error('no fault was scored');
  return one;
}

describe('what is on time', () => {
  it('is an overshoot foreseen before the glass is too hot', () => {
    const late = fault('overshoot', 7200, { harmS: 7800, endsS: 8400 });
    const one = first(score([late], alert('a', 'overshoot', { foreseen: 7300, happening: 7900, over: 9000 })));
    expect(one).toMatchObject({ strictS: 7300, rightS: 7300, deadlineS: 7800, onsets: 1, wrongKinds: [] });
  });

  it('is also a hand called a quarter of an hour before it is late, but not two hours before', () => {
    const late = fault('overshoot', 7200, { harmS: 7800 });
    expect(first(score([late], alert('a', 'overshoot', { foreseen: 6300 }))).rightS).toBe(6300);
    const early = score([late], alert('a', 'overshoot', { foreseen: 100, over: 200 }));
    expect(first(early).rightS).toBeNull();
    expect(early.falseAlerts.map((a) => a.kind)).toEqual(['overshoot']);
  });

  it('is no alert that comes first when the fault has been over for twenty minutes', () => {
    const short = fault('lid-open-hot', 7200, { endsS: 7260 });
    expect(first(score([short], alert('a', 'lid-open-hot', { happening: 7260 + 1201 }))).rightS).toBeNull();
    expect(first(score([short], alert('a', 'lid-open-hot', { happening: 7260 + 1199 }))).rightS).toBe(8459);
  });

  it('is an alert that stood already as the fault began, from the fault on', () => {
    const frost = fault('stalled-ramp', 7200, { harmS: 9000 });
    const one = first(score([frost], alert('a', 'running-late', { happening: 5000 })));
    expect(one).toMatchObject({ rightS: 7140, strictS: null, rightKind: 'running-late', onsets: 0 });
  });
});

describe('the kind of an alert', () => {
  it('is right by another name for the same trouble, and then not strictly so', () => {
    const out = fault('heat-lost', 7200, { harmS: 8100 });
    const one = first(score([out], alert('a', 'stalled-ramp', { happening: 7500 })));
    expect(one).toMatchObject({ strictS: null, rightS: 7500, rightKind: 'stalled-ramp', wrongKinds: [] });
  });

  it('is wrong where an open lid is told and the flame is out, and wrong first where the flame is told later', () => {
    const out = fault('heat-lost', 7200, { harmS: 8100 });
    const told = [...alert('a', 'lid-open-hot', { happening: 7230 }), ...alert('b', 'heat-lost', { happening: 7300 })];
    expect(first(score([out], told))).toMatchObject({ wrongKinds: ['lid-open-hot'], wrongFirst: ['lid-open-hot'] });
    const after = [...alert('b', 'heat-lost', { happening: 7220 }), ...alert('a', 'lid-open-hot', { happening: 7230 })];
    expect(first(score([out], after))).toMatchObject({ wrongKinds: ['lid-open-hot'], wrongFirst: [] });
  });

  it('is not wrong where it follows from the fault, or where the glass did suffer what it says', () => {
    const opened = fault('lid-open-hot', 7200, { endsS: 7300 });
    expect(first(score([opened], alert('a', 'running-late', { happening: 7400 }))).wrongKinds).toEqual([]);
    const broken = fault('sensor-fault', 7200);
    const told = alert('a', 'overshoot', { happening: 9000 });
    expect(first(score([broken], told, ['slipped'])).wrongKinds).toEqual(['overshoot']);
    const hot = facts([broken], [{ harm: 'too-hot', fromS: 8900, untilS: 9600 }]);
    const scored = scoreFiring(hot, { brings: 'sensor-fault', causes: ['slipped'] }, told, WATCHED_S);
    expect(first(scored).wrongKinds).toEqual([]);
  });

  it('may be silence where a couple shows nothing, and not where it shows something wrong', () => {
    const broken = fault('sensor-fault', 7200, { atToleranceS: 7230 });
    const told = alert('a', 'silence', { happening: 7220 });
    expect(first(score([broken], told, ['open-circuit'])).rightS).toBe(7220);
    expect(first(score([broken], told, ['slipped']))).toMatchObject({ rightS: null, wrongKinds: ['silence'] });
  });
});

describe('the cause of a sensor-fault', () => {
  it('is named, or not, where the fault is told by its very kind', () => {
    const broken = fault('sensor-fault', 7200);
    const told = alert('a', 'sensor-fault', { happening: 7220 }).map((one): Told => ({ ...one, cause: 'frozen' }));
    expect(first(score([broken], told, ['frozen'])).namesCause).toBe(true);
    expect(first(score([broken], told, ['drift'])).namesCause).toBe(false);
    expect(
      first(score([broken], alert('a', 'sensors-disagree', { happening: 7220 }), ['drift'])).namesCause,
    ).toBeNull();
  });
});

describe('a false alert', () => {
  it('is every one in a quiet firing, counted once from foreseen to over', () => {
    const told = alert('a', 'stalled-ramp', { foreseen: 1000, happening: 1200, over: 1500 });
    const scored = score([], told);
    expect(scored.falseAlerts).toMatchObject([{ kind: 'stalled-ramp', wasHappening: true, isTrueByGlass: false }]);
    expect(scored.quietS).toBe(WATCHED_S);
  });

  it('is one before the fault in a firing that goes wrong, and only the hours before it are counted', () => {
    const scored = score([fault('heat-lost', 7200)], alert('a', 'overshoot', { foreseen: 3000, over: 3300 }));
    expect(scored.falseAlerts.map((a) => a.kind)).toEqual(['overshoot']);
    expect(scored.quietS).toBe(7140);
  });

  it('is none in a firing whose fault never came about: it is left out', () => {
    const told = alert('a', 'overshoot', { foreseen: 3000 });
    const scored = scoreFiring(facts([]), { brings: 'overshoot', causes: [] }, told, WATCHED_S);
    expect(scored).toMatchObject({ cameToNothing: true, quietS: 0, falseAlerts: [] });
  });
});

describe('an alert that the glass bears out', () => {
  it('is marked among the false ones, but heat in the fall is not borne out by a hold that was too long hours before', () => {
    const long = facts([], [{ harm: 'hold-too-long', fromS: 9000, untilS: WATCHED_S }]);
    const told = [
      ...alert('a', 'hold-long', { happening: 8900 }),
      ...alert('b', 'uncontrolled-heat', { happening: 20_000 }),
    ];
    const scored = scoreFiring(long, { brings: null, causes: [] }, told, WATCHED_S);
    expect(scored.falseAlerts.map((a) => a.isTrueByGlass)).toEqual([true, false]);
  });
});

describe('the deadline', () => {
  it('is the harm, where there is one', () => {
    expect(deadlineOf(fault('heat-lost', 100, { harmS: 700 }), [])).toEqual({ atS: 700, isMild: false });
  });

  it('is a minute for an open lid, five for silence and a broken wire, whatever it harms', () => {
    expect(deadlineOf(fault('lid-open-hot', 100, { harmS: 110 }), []).atS).toBe(160);
    expect(deadlineOf(fault('silence', 100), []).atS).toBe(400);
    expect(deadlineOf(fault('sensor-fault', 100, { harmS: 3000 }), ['open-circuit']).atS).toBe(400);
  });

  it('is 15 °C of error for a couple that drifts, and the tolerance for one that slips or stands', () => {
    const off = fault('sensor-fault', 100, { at15CS: 2000, atToleranceS: 900 });
    expect(['drift', 'slipped', 'frozen'].map((cause) => deadlineOf(off, [cause]).atS)).toEqual([2000, 900, 900]);
  });

  it('leaves a quarter of an hour to a fault that harms nothing, and need not be told where it never will', () => {
    expect(deadlineOf(fault('stalled-ramp', 100), [])).toEqual({ atS: 1000, isMild: true });
    expect(deadlineOf(fault('heat-lost', 100), [])).toEqual({ atS: 1000, isMild: false });
    expect(deadlineOf(fault('sensor-fault', 100), ['frozen'])).toEqual({ atS: 1000, isMild: true });
  });
});

describe('two faults at once', () => {
  it('are one where they are of one kind', () => {
    const creeps = fault('overshoot', 100, { harmS: 900, endsS: 1200 });
    const hand = fault('overshoot', 300, { harmS: 700, endsS: 1500 });
    expect(joined([hand, creeps])).toEqual([fault('overshoot', 100, { harmS: 700, endsS: 1500 })]);
  });

  it('are two where one is over before the other begins', () => {
    expect(joined([fault('silence', 100, { endsS: 200 }), fault('silence', 300)])).toHaveLength(2);
  });
});

describe('an alert from first to last', () => {
  it('has the first word, the gravest priority, and when it was over', () => {
    const stages = alert('a', 'overshoot', { foreseen: 10, happening: 20, over: 30 });
    const told = stages.map((stage, i): Told => ({ ...stage, priority: i === 0 ? 'soon' : 'note' }));
    expect(wholeAlerts(told)).toMatchObject([
      { fromS: 10, happeningS: 20, overS: 30, priority: 'soon', message: 'overshoot foreseen' },
    ]);
  });
});
