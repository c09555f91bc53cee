import { describe, expect, it } from 'vitest';
import { CATALOGUE } from '../../../daemon/core/alerts/catalogue.ts';
import type { AlertEvent } from '../../../daemon/core/events.ts';
import type { KilnSetup } from '../../../daemon/core/plan/kiln.ts';
import { atS, begin, climbOfMatt, curve, type Fed, fallenMatt, feed, kilnOf, lid, matt, wait } from '../feeding.ts';

/** Ways to spoil a firing, so that every rule speaks in each of its phases. */
function spoil(kiln: KilnSetup): AlertEvent[] {
  const climb = (s: number): number => (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30);
  const told = ({ events }: Fed): AlertEvent[] => events.filter((e) => e.type === 'alert');
  const upTo = (toS: number) => feed(begin(matt, kiln), curve(0, toS, climb));
  const fallS = 8250;
  const drop = curve(fallS + 10, fallS + 100, (s) => climb(fallS) - 45 * (1 - Math.exp(-(s - fallS) / 20)));
  const full = {
    kind: 'edge',
    atMs: atS(5),
    edge: 'record-lost',
    sentence: 'The disk is full; free some space.',
  } as const;
  return [
    ...told(
      feed(
        upTo(13_200),
        curve(13_210, 15_000, () => 655),
      ),
    ),
    // Creeps on for twenty minutes, and stands.
    ...told(
      feed(
        upTo(fallS),
        curve(fallS + 10, 11_000, (s) => 510 + Math.min(s - fallS, 1200) / 85),
      ),
    ),
    ...told(feed(upTo(fallS), [lid(fallS + 5, true), ...drop])),
    ...told(feed(upTo(fallS), drop)),
    ...told(wait(feed(upTo(fallS), [full]), fallS + 60)),
    // Half as fast again as the plan, for twenty minutes.
    ...told(
      feed(
        upTo(4800),
        curve(4810, 6000, (s) => climb(4800) + ((s - 4800) * 376) / 3600),
      ),
    ),
    // Turned off four minutes into the hold.
    ...told(
      feed(
        begin(matt, kiln),
        curve(0, 13_400, (s) => (s < 13_000 ? climbOfMatt(s) : 660 - (s - 13_000) / 8)),
      ),
    ),
    // Still at its top twelve minutes after the hold.
    ...told(
      feed(
        begin(matt, kiln),
        curve(0, 14_600, (s) => climbOfMatt(s)),
      ),
    ),
    // Left to fall, and helped at 520; and heating again at 480.
    ...told(
      feed(
        begin(matt, kiln),
        fallenMatt((after) => 520 - after / 8),
      ),
    ),
    ...told(
      feed(
        begin(matt, kiln),
        fallenMatt((after) => 520 + after / 9),
      ),
    ),
    // Nearly twice too fast at 200, as no relay that sticks.
    ...told(
      feed(
        begin(matt, kiln),
        curve(0, 3600, (s) => (s < 2700 ? 20 + s / 15 : 200 + (s - 2700) / 8)),
      ),
    ),
    // Four fifths of its pace, all the way.
    ...told(
      feed(
        upTo(6450),
        curve(6460, 11_500, (s) => 450 + (s - 6450) / 37),
      ),
    ),
    // A broken wire, and an instrument whose clock stands.
    ...told(
      feed(
        upTo(fallS),
        curve(fallS + 10, fallS + 100, () => 0).map((r) => ({ ...r, text: '' })),
      ),
    ),
    ...told(
      feed(
        upTo(fallS),
        curve(fallS + 10, fallS + 200, climb).map((r) => ({ ...r, atMs: atS(fallS) })),
      ),
    ),
    // One of two couples drifts.
    ...told(
      feed(
        begin(matt, { ...kiln, sensors: [...kiln.sensors, { name: 'top', letter: 'K' }] }),
        curve(0, 12_000, climb).flatMap((r, i) => [
          r,
          { ...r, channel: 'top', text: String(climb(10 * i) + Math.max(10 * i - 8000, 0) / 100) },
        ]),
      ),
    ),
    // Out at 500.
    ...told(
      feed(
        upTo(fallS),
        curve(fallS + 10, fallS + 400, (s) => climb(fallS) - (s - fallS) / 9),
      ),
    ),
  ];
}

const gas = spoil(kilnOf());
const electric = spoil(kilnOf({ heat: 'electric', closure: 'lid' }));

describe('every rule of the catalogue (requirement A1)', () => {
  it.each(CATALOGUE)('$alert states its cause, what follows, what to do about it and how long one has', (rule) => {
    for (const text of [rule.cause, rule.consequence, rule.whatToDo.gas, rule.whatToDo.electric, rule.timeToAct]) {
      expect(text.length).toBeGreaterThan(10);
      expect(text).toMatch(/^\p{Ll}.*[^.]$/u);
    }
    expect(rule.whatToDo.electric).not.toMatch(/\bgas\b|damper|flame|bottle/i);
    expect(['note', 'soon', 'now']).toContain(rule.priority);
  });

  it.each(CATALOGUE)('$alert is never more urgent than it says it can become', ({ alert, priority }) => {
    const rank = ['note', 'soon', 'now'];
    for (const told of [...gas, ...electric].filter((a) => a.alert === alert)) {
      expect(rank.indexOf(told.priority)).toBeLessThanOrEqual(rank.indexOf(priority));
    }
  });

  it('is listed once', () => {
    expect(new Set(CATALOGUE.map((r) => r.alert)).size).toBe(CATALOGUE.length);
  });

  it.each(CATALOGUE)('$alert says in its message what to do, at a gas kiln and at an electric one', ({ alert }) => {
    for (const told of [gas, electric]) {
      const spoken = told.filter((a) => a.alert === alert && a.phase !== 'over');
      expect(spoken.length).toBeGreaterThan(0);
      for (const { message, because } of spoken) {
        expect(message).toMatch(
          /Turn down|Gas down|[Ss]witch off at the wall|Look at|look at the kiln|Close it gently|go to it|keep the kiln shut|free some space|Gas off|Off at the wall|Keep it shut|Slow it|Pilot only|spyhole plugged|Close (lid|door)|more heat|harms nothing|Is the (flame|controller)|Look for gloss/,
        );
        expect(because.length).toBeGreaterThan(20);
        expect(message.length).toBeLessThan(200);
      }
    }
  });

  it('gives a priority and, where it foresees, the time that is left', () => {
    for (const told of [...gas, ...electric]) {
      expect(['now', 'soon', 'note']).toContain(told.priority);
      if (told.phase === 'foreseen') expect(told.leadS).toBeGreaterThanOrEqual(0);
    }
  });

  it('asks a gas kiln and an electric one for different acts where they differ', () => {
    const words = (told: readonly AlertEvent[], kind: string, phase: string): string =>
      told.find((a) => a.alert === kind && a.phase === phase)?.message ?? '';
    for (const [kind, phase] of [
      ['overshoot', 'foreseen'],
      ['overshoot', 'happening'],
      ['stalled-ramp', 'foreseen'],
      ['stalled-ramp', 'happening'],
    ] as const) {
      expect(words(gas, kind, phase)).not.toBe('');
      expect(words(electric, kind, phase)).not.toBe('');
      expect(words(gas, kind, phase)).not.toBe(words(electric, kind, phase));
    }
    for (const { message } of electric) expect(message).not.toMatch(/\bgas\b|damper|flame|bottle/i);
  });

  it('never speaks of the damper without the gas before it: nobody shuts it on a lit flame', () => {
    for (const { message, because } of gas) {
      const said = `${message} ${because}`;
      if (/damper/i.test(said)) expect(said).toMatch(/gas (is )?(first|down|off)[^.]*damper (after|open|and ports)/i);
      expect(said).not.toMatch(/(shut|close) (the )?damper/i);
      expect(said).not.toMatch(/relight now/i);
      // A bottle is never warmed with a flame.
      if (/warm/i.test(said)) expect(said).toMatch(/[Nn]ever warm/);
    }
  });

  it('never claims that the glass is sound, and calls no band a cone', () => {
    for (const { message, because } of [...gas, ...electric])
      expect(`${message} ${because}`).not.toMatch(/\bcone\b|undamaged|is sound|no damage/i);
  });
});
