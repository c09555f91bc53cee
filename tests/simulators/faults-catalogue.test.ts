import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import type { AlertKind } from '../../daemon/core/events.ts';
import { faults, type NamedFault } from '../../simulators/faults/catalogue.ts';
import { liveFiring } from '../../simulators/firing-scenario.ts';
import { parseScenario } from '../../simulators/scenario-file.ts';
import type { ScenarioData } from '../../simulators/scenario-schema.ts';

/** Every kind of the fixed list; the compiler refuses it when one is missing. */
const KINDS: Readonly<Record<AlertKind, true>> = {
  overshoot: true,
  'stalled-ramp': true,
  'running-late': true,
  'heating-too-fast': true,
  'cooling-too-fast': true,
  'lid-open-hot': true,
  'heat-lost': true,
  'uncontrolled-heat': true,
  'hold-short': true,
  'hold-long': true,
  'sensor-fault': true,
  'sensors-disagree': true,
  silence: true,
  'clock-trouble': true,
  'record-trouble': true,
};
const CAUSES = [
  'open-circuit',
  'reversed',
  'frozen',
  'jump',
  'out-of-range',
  'drift',
  'slipped',
  'sentinel',
  'cold-junction',
];

const named = Object.entries(faults);

/** Two couples and a hold, quick: enough for every fault to begin. */
function scenarioWith(fault: string | null, heat: 'gas' | 'electric'): ScenarioData {
  return {
    name: 'one fault',
    what: 'one fault',
    seed: 5,
    startsAt: '2025-05-12T09:00:00Z',
    endsAfterH: 14,
    kiln: {
      id: 'kiln',
      name: 'Kiln',
      heat,
      closure: 'door',
      sensors: [
        { name: 'shelf', letter: 'K' },
        { name: 'arch', letter: 'K' },
      ],
    },
    schedule: {
      name: '660',
      toleranceC: 6,
      segments: [
        { kind: 'ramp', toC: 420, rateCPerH: 260, opening: 'propped' },
        { kind: 'ramp', toC: 650, rateCPerH: 180 },
        { kind: 'hold', minutes: 15 },
        { kind: 'ramp', toC: 100, rateCPerH: 'let-fall' },
      ],
    },
    plant: { is: heat === 'gas' ? 'studio gas' : 'studio electric' },
    couples: [
      { sensor: 'shelf', lagS: 60 },
      { sensor: 'arch', lagS: 30, heightRatio: 0.9 },
    ],
    instrument: { sampleS: 10 },
    habits: { glassC: 0, controllerOffC: 0 },
    happenings: fault === null ? [] : [{ fault }],
  };
}

const heatOf = ({ heat }: NamedFault): 'gas' | 'electric' => heat ?? 'electric';

/** What the daemon could see: every row, and what befell its disk. */
function seen(fault: string | null, heat: 'gas' | 'electric') {
  const firing = liveFiring(parseScenario(scenarioWith(fault, heat), 'test'));
  const hash = createHash('sha256');
  let edges = 0;
  let glassPeakC = 0;
  while (!firing.ended()) {
    const news = firing.step(firing.atMs() + 3_600_000);
    for (const row of news.rows) {
      hash.update(`${row.atMs} ${row.sensor} ${row.celsius}\n`);
      glassPeakC = Math.max(glassPeakC, row.glassC);
    }
    edges += news.edges.length;
  }
  return { rows: hash.digest('hex'), edges, glassPeakC, faults: firing.truth() };
}

describe('the catalogue of faults', () => {
  it.each(Object.keys(KINDS))('%s comes about in at least three ways and has a harmless twin', (kind) => {
    expect(named.filter(([, fault]) => fault.brings === kind).length).toBeGreaterThanOrEqual(3);
    expect(named.filter(([, fault]) => fault.looksLike === kind).length).toBeGreaterThanOrEqual(1);
  });

  it('has every cause of a sensor fault', () => {
    const causes = named.flatMap(([, fault]) =>
      fault.brings === 'sensor-fault' ? fault.effects.flatMap((e) => (e.on === 'couple' ? [e.fault.kind] : [])) : [],
    );
    expect(causes.sort()).toEqual(CAUSES.toSorted());
  });

  const quiet = { gas: seen(null, 'gas'), electric: seen(null, 'electric') };

  it('stands on quiet firings that have nothing wrong', () => {
    expect(quiet.gas.faults).toEqual([]);
    expect(quiet.electric.faults).toEqual([]);
  });

  it.each(named.filter(([, fault]) => fault.brings !== null))(
    '"%s" happens, shows, and is told as what it is',
    (name, fault) => {
      const { rows, edges, faults: truth } = seen(name, heatOf(fault));
      expect(truth[0]?.class).toBe(fault.brings);
      expect(new Set(truth.map((t) => t.class)).size).toBe(1);
      if (fault.brings === 'record-trouble') expect(edges).toBeGreaterThan(0);
      else expect(rows).not.toBe(quiet[heatOf(fault)].rows);
    },
  );

  it.each(named.filter(([, fault]) => fault.brings === null))(
    '"%s" is harmless and leaves the glass as it should be',
    (name, fault) => {
      const { glassPeakC, faults: truth } = seen(name, heatOf(fault));
      expect(truth).toEqual([]);
      // As hot as when nothing happens, to the plan's tolerance.
      expect(Math.abs(glassPeakC - quiet[heatOf(fault)].glassPeakC)).toBeLessThan(6);
    },
  );
});
