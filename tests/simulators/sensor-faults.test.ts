import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import { CAUSES, type SensorFault } from '../../simulators/sensor-faults.ts';
import { type Couple, type CoupleSpec, thermocouple } from '../../simulators/thermocouple.ts';
import { type EvenChamber, evenChamber } from './even-chamber.ts';

const plain: CoupleSpec = {
  sensor: 'shelf',
  looksAt: { wall: 1, shelf: 1, glass: 2 },
  lagS: 60,
  noiseC: 0,
  stepC: 0,
  missedRatio: 0,
};

interface Bench {
  readonly chamber: EvenChamber;
  readonly couple: Couple;
  /** One reading a second. */
  read(forS: number): (number | null)[];
}

function bench(spec: Partial<CoupleSpec> = {}, atC = 600, roomC = 20): Bench {
  const chamber = evenChamber(atC, roomC);
  const couple = thermocouple({ ...plain, ...spec }, chamber, seededRandom(1), 2);
  const read = (forS: number): (number | null)[] =>
    Array.from({ length: forS }, () => {
      couple.step(1);
      return couple.read();
    });
  return { chamber, couple, read };
}

const values = (readings: readonly (number | null)[]): number[] => readings.filter((c) => c !== null);
const last = (readings: readonly (number | null)[]): number => values(readings).at(-1) ?? Number.NaN;

const OF_EACH_KIND: readonly SensorFault[] = [
  { kind: 'open-circuit', shows: 'nothing' },
  { kind: 'open-circuit', shows: 'burnout', atC: 1372 },
  { kind: 'open-circuit', shows: 'antenna', wanderC: 3 },
  { kind: 'intermittent', openForS: 4, closedForS: 20 },
  { kind: 'reversed' },
  { kind: 'frozen' },
  { kind: 'jump', byC: -45 },
  { kind: 'shorted', outRatio: 0.4 },
  { kind: 'out-of-range', atC: 2400 },
  { kind: 'drift', cPerH: -25 },
  { kind: 'slipped', outRatio: 0.3, overS: 40 },
  { kind: 'sentinel', codeC: -32768 },
  { kind: 'cold-junction', is: 'sensor-off', byC: -18 },
  { kind: 'cold-junction', is: 'terminal-heated', byC: 15, feltRatio: 0.2 },
  { kind: 'noisy', noiseC: 4 },
];
const nameOf = (fault: SensorFault): string =>
  [fault.kind, 'shows' in fault ? fault.shows : '', 'is' in fault ? fault.is : ''].join(' ').trim();
const named = OF_EACH_KIND.map((fault) => [nameOf(fault), fault] as const);

/** The causes of `sensor-fault` that the outside may rely on. */
const PROMISED = [
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

describe('a fault of a sensor', () => {
  it('comes in every cause that a watch must name, and each kind is tried below', () => {
    expect(new Set(Object.values(CAUSES).filter((c) => c !== null))).toEqual(new Set(PROMISED));
    expect(new Set(OF_EACH_KIND.map((f) => f.kind))).toEqual(new Set(Object.keys(CAUSES)));
  });

  it.each(named)('changes the readings from its onset on, not before: %s', (_name, fault) => {
    const sound = bench({ noiseC: 0.3, stepC: 0.25 });
    const broken = bench({ noiseC: 0.3, stepC: 0.25 });
    expect(broken.read(300)).toEqual(sound.read(300));
    broken.couple.suffer(fault);
    expect(broken.read(600)).not.toEqual(sound.read(600));
  });

  it.each(named)('leaves nothing behind once mended but what must cool or warm: %s', (_name, fault) => {
    const spec = { noiseC: 0.3, stepC: 0.25, wander: { deviationC: 1, overS: 300 } };
    const sound = bench(spec);
    const broken = bench(spec);
    broken.couple.suffer(fault);
    broken.read(900);
    sound.read(900);
    broken.couple.suffer(null);
    broken.read(3600);
    sound.read(3600);
    expect(broken.read(600)).toEqual(sound.read(600));
  });

  it('goes its own way, whatever was broken and mended before', () => {
    const fault: SensorFault = { kind: 'open-circuit', shows: 'antenna', wanderC: 3 };
    const [once, twice] = [bench(), bench()];
    twice.couple.suffer({ kind: 'jump', byC: 30 });
    twice.read(100);
    once.read(100);
    for (const { couple } of [once, twice]) couple.suffer(null);
    for (const { couple } of [once, twice]) couple.suffer(fault);
    expect(twice.read(100)).toEqual(once.read(100));
  });

  it('gives a figure or none, never anything else, whatever comes on top of what', () => {
    const deeds = fc.array(
      fc.record({
        fault: fc.constantFrom(null, ...OF_EACH_KIND),
        forS: fc.nat({ max: 200 }),
        atC: fc.nat({ max: 900 }),
      }),
    );
    fc.assert(
      fc.property(deeds, (all) => {
        const { chamber, couple, read } = bench({ noiseC: 0.5, beadLagS: 30, lagAtWPerM2K: 126, missedRatio: 0.1 });
        for (const { fault, forS, atC } of all) {
          couple.suffer(fault);
          chamber.setC(atC);
          for (const c of values(read(forS))) expect(Number.isFinite(c)).toBe(true);
        }
        couple.suffer(null);
        // A sheath in a kiln at the freezing point lags by twenty minutes.
        read(3 * 3600);
        const around = values(read(20));
        for (const c of around) expect(Math.abs(c - chamber.celsius('wall'))).toBeLessThan(4);
      }),
      { seed: 11, numRuns: 40 },
    );
  });

  it('shows nothing at all, or the upper end, where the circuit is open', () => {
    const { couple, read } = bench({ noiseC: 0.5 });
    couple.suffer({ kind: 'open-circuit', shows: 'nothing' });
    expect(new Set(read(50))).toEqual(new Set([null]));
    couple.suffer({ kind: 'open-circuit', shows: 'burnout', atC: 1372 });
    expect(new Set(read(50))).toEqual(new Set([1372]));
  });

  it('wanders away from where it was where the open wires catch what is in the air (seeds 1 to 200)', () => {
    const movedC = Array.from({ length: 200 }, (_, nature) => {
      const couple = thermocouple(plain, evenChamber(600), seededRandom(1), nature + 1);
      couple.suffer({ kind: 'open-circuit', shows: 'antenna', wanderC: 3 });
      const beganC = couple.read() ?? Number.NaN;
      expect(beganC).toBeCloseTo(600, 6);
      for (let s = 0; s < 100; s++) couple.step(1);
      return (couple.read() ?? Number.NaN) - beganC;
    });
    const meanC = movedC.reduce((sum, c) => sum + c, 0) / movedC.length;
    const deviationC = Math.sqrt(movedC.reduce((sum, c) => sum + (c - meanC) ** 2, 0) / movedC.length);
    // Held to the terminals within 900 s: e^(−100/900) of 580 °C is left, and of 30 °C of spread about 28.
    expect(Math.abs(meanC - 580 * (Math.exp(-1 / 9) - 1))).toBeLessThan(6);
    expect(deviationC).toBeGreaterThan(24);
    expect(deviationC).toBeLessThan(33);
  });

  it('opens and closes for the times given where a contact is loose', () => {
    const { couple, read } = bench();
    couple.suffer({ kind: 'intermittent', openForS: 5, closedForS: 45 });
    const all = read(100_000);
    expect(all[0]).toBeNull();
    const open = all.filter((c) => c === null).length;
    const spells = all.filter((c, i) => c === null && all[i - 1] !== null).length;
    expect(open / all.length).toBeGreaterThan(0.08);
    expect(open / all.length).toBeLessThan(0.15);
    expect(open / spells).toBeGreaterThan(5);
    expect(open / spells).toBeLessThan(7);
  });

  it('mirrors about the terminals where the leads are swapped: falls as the kiln climbs', () => {
    const { chamber, couple, read } = bench({}, 20, 24);
    couple.suffer({ kind: 'reversed' });
    chamber.setC(24);
    expect(last(read(900))).toBeCloseTo(24, 1);
    chamber.setC(100);
    expect(last(read(900))).toBeCloseTo(-52, 1);
  });

  it('stands for ever at the last figure shown, noise and missed readings and all', () => {
    const { chamber, couple, read } = bench({ noiseC: 0.5, missedRatio: 0.2 });
    const shownC = last(read(100));
    couple.suffer({ kind: 'frozen' });
    chamber.setC(700);
    expect(new Set(read(500))).toEqual(new Set([shownC]));
    couple.suffer(null);
    expect(last(read(500))).toBeCloseTo(700, -1);
  });

  it('is off by so much at once where it jumps', () => {
    const { couple, read } = bench();
    couple.suffer({ kind: 'jump', byC: -45 });
    expect(read(3)).toEqual([555, 555, 555]);
    couple.suffer(null);
    expect(read(1)).toEqual([600]);
  });

  it('shows the new junction where the wires touch on their way out: at once, and by its share', () => {
    const { couple, read } = bench();
    couple.suffer({ kind: 'shorted', outRatio: 0.25 });
    const shellC = 20 + 0.08 * 580;
    expect(read(1)[0]).toBeCloseTo(600 - 0.25 * (600 - shellC), 2);
  });

  it('shows what no couple can, and nothing where the instrument guards its range', () => {
    const fault: SensorFault = { kind: 'out-of-range', atC: 2400 };
    const free = bench({ noiseC: 0.5 });
    free.couple.suffer(fault);
    for (const c of values(free.read(100))) expect(Math.abs(c - 2400)).toBeLessThan(4);
    const guarded = bench({ range: { fromC: -200, toC: 1372 } });
    guarded.couple.suffer(fault);
    expect(guarded.read(2)).toEqual([null, null]);
  });

  it('drifts by so much an hour from its onset on', () => {
    const { couple, read } = bench();
    read(1000);
    couple.suffer({ kind: 'drift', cPerH: -25 });
    expect(last(read(3600))).toBeCloseTo(575, 2);
    expect(last(read(3600))).toBeCloseTo(550, 2);
  });

  it('slips out as slowly as the couple lags, to the shell for its share', () => {
    const { couple, read } = bench();
    couple.suffer({ kind: 'slipped', outRatio: 0.3, overS: 40 });
    const shellC = 20 + 0.08 * 580;
    const restC = 0.3 * (600 - shellC);
    const falling = values(read(40));
    expect(600 - (falling.at(-1) ?? 0)).toBeLessThan(0.4 * restC);
    expect(Math.max(...falling.slice(1).map((c, i) => (falling[i] ?? 0) - c))).toBeLessThan(3);
    expect(last(read(600))).toBeCloseTo(600 - restC, 1);
    couple.suffer(null);
    expect(last(read(60))).toBeLessThan(560);
    expect(last(read(900))).toBeCloseTo(600, 1);
  });

  it('knows, for judging, what it would show if it had not slipped', () => {
    const { chamber, couple, read } = bench();
    couple.suffer({ kind: 'slipped', outRatio: 0.3, overS: 40 });
    read(600);
    expect(couple.soundC()).toBeCloseTo(600, 1);
    chamber.setC(650);
    read(1200);
    expect(couple.soundC()).toBeCloseTo(650, 1);
  });

  it.each([0, -32768, 9999, 1372])('gives the code %i exactly, in whatever steps it shows', (codeC) => {
    const { couple, read } = bench({ stepC: 0.25, noiseC: 0.5, missedRatio: 0.3, range: { fromC: 100, toC: 1000 } });
    couple.suffer({ kind: 'sentinel', codeC });
    expect(new Set(read(60))).toEqual(new Set([codeC]));
  });

  it('is off by what the terminals’ thermometer is off, at every temperature', () => {
    const { chamber, couple, read } = bench();
    couple.suffer({ kind: 'cold-junction', is: 'sensor-off', byC: -18 });
    expect(last(read(1))).toBeCloseTo(582, 6);
    chamber.setC(30);
    expect(last(read(1200))).toBeCloseTo(12, 1);
  });

  it('sinks as the terminals are warmed and the thermometer hardly feels it, and comes back', () => {
    const terminal = { shellRatio: 0, lagS: 300, sensorLagS: 60, compensatedRatio: 1 };
    const { couple, read } = bench({ terminal });
    couple.suffer({ kind: 'cold-junction', is: 'terminal-heated', byC: 15, feltRatio: 0.2 });
    expect(last(read(300))).toBeGreaterThan(589);
    expect(last(read(3600))).toBeCloseTo(588, 1);
    couple.suffer(null);
    expect(last(read(3600))).toBeCloseTo(600, 1);
  });

  it('is only noise in a noisy hour: the mean stays, the spread adds by squares (seed 1)', () => {
    const { couple, read } = bench({ noiseC: 0.9 });
    couple.suffer({ kind: 'noisy', noiseC: 1.2 });
    const all = values(read(20_000));
    const meanC = all.reduce((sum, c) => sum + c, 0) / all.length;
    expect(meanC).toBeCloseTo(600, 1);
    expect(Math.sqrt(all.reduce((sum, c) => sum + (c - meanC) ** 2, 0) / all.length)).toBeCloseTo(1.5, 1);
  });

  it('comes on top of one of another kind, and instead of one of its own', () => {
    const { couple, read } = bench();
    couple.suffer({ kind: 'jump', byC: 10 });
    couple.suffer({ kind: 'cold-junction', is: 'sensor-off', byC: 3 });
    expect(read(1)).toEqual([613]);
    couple.suffer({ kind: 'jump', byC: 20 });
    expect(read(1)).toEqual([623]);
    couple.mend('jump');
    expect(read(1)).toEqual([603]);
    couple.suffer(null);
    expect(read(1)).toEqual([600]);
  });
});
