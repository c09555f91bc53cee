/**
 * The corpus: five hundred firings by number, their kilns, hands, couples, plans and faults drawn wide. The same number
 * is the same firing on every machine. A quarter are quiet or have a harmless twin only; the rest go through all named
 * faults in turn, from mild to bad.
 */
import { type SeededRandom, seededRandom } from '../daemon/core/numbers/seeded-random.ts';
import type { Segment } from '../daemon/core/plan/schedule.ts';
import { coupleKinds } from './couple-kinds.ts';
import { faults, type NamedFault } from './faults/catalogue.ts';
import type { FiringScenario } from './firing-scenario.ts';
import { type PlantSpec, plants } from './plants.ts';
import { parseScenario } from './scenario-file.ts';
import type { ScenarioData } from './scenario-schema.ts';

export const CORPUS_SIZE = 520;

interface Draw {
  between(low: number, high: number): number;
  whole(low: number, high: number): number;
  pick<Item>(items: readonly Item[]): Item;
  chance(share: number): boolean;
}

function drawFrom(random: SeededRandom): Draw {
  const between = (low: number, high: number): number => low + (high - low) * random.next();
  const whole = (low: number, high: number): number => low + Math.floor((high - low + 1) * random.next());
  return {
    between,
    whole,
    pick: (items) => items[whole(0, items.length - 1)] as (typeof items)[number],
    chance: (share) => random.next() < share,
  };
}

const harmful = Object.keys(faults).filter((name) => faults[name]?.brings !== null);
const harmless = Object.keys(faults).filter((name) => faults[name]?.brings === null);

/** Which fault a number has: each fourth is quiet or looks like a fault, the others go through the list. */
export function corpusFault(number: number): string | null {
  const turn = Math.floor((number - 1) / 4);
  if (number % 4 !== 0) return harmful[(number - 1 - turn) % harmful.length] ?? null;
  return turn % 3 === 0 ? null : (harmless[(turn - Math.floor(turn / 3) - 1) % harmless.length] ?? null);
}

/** @param number from 1 to `CORPUS_SIZE` */
export function corpusScenario(number: number): FiringScenario {
  return parseScenario(corpusData(number), `corpus ${number}`);
}

/** As a scenario file would hold it. */
export function corpusData(number: number): ScenarioData {
  const draw = drawFrom(seededRandom(7919 * number + 13));
  const fault = corpusFault(number);
  const only = fault === null ? undefined : faults[fault]?.heat;
  const plantName = draw.pick(Object.keys(plants).filter((name) => only === undefined || plants[name]?.heat === only));
  const plant = plants[plantName] as PlantSpec;
  const plateMm = draw.pick([2, 3, 3, 3, 4, 6, 8]);
  const sensors = sensorsFor(draw, fault);
  const everyS = draw.pick([1, 1, 2, 5, 5, 10, 10, 15, 30]);
  const toleranceC = draw.pick([5, 6, 6, 8, 10]);
  const stepC = draw.pick([0, 0.1, 0.25, 0.25, 1]);
  return {
    name: `corpus ${number}`,
    what: fault === null ? 'nothing goes wrong' : `${fault}`,
    seed: 1000 + number,
    startsAt: new Date(Date.UTC(2025, 4, 12, draw.whole(6, 14), draw.whole(0, 59))).toISOString(),
    endsAfterH: 16,
    kiln: {
      id: 'kiln',
      name: draw.pick(['Gas kiln', 'Electric kiln', 'Kiln 4', 'The little one', 'North kiln']),
      heat: plant.heat,
      closure: plant.heat === 'gas' ? 'door' : draw.pick(['lid', 'lid', 'door']),
      toleranceC,
      safeOpenC: 150,
      plateMm,
      sensors: sensors.map((name) => ({ name, letter: 'K' })),
    },
    schedule: scheduleFor(draw, plant.heat, toleranceC),
    plant: { is: plantName, change: changeOf(draw, plant, plateMm) },
    operator: {
      looksEveryS: draw.whole(120, 480),
      standsEveryS: draw.whole(45, 120),
      markStep: draw.pick([0.1, 0.25, 0.25, 0.5]),
      overcorrectRatio: draw.between(0.7, 2),
      turnsDownBeforeC: draw.between(4, 10),
      walkS: draw.whole(20, 240),
      propRatio: draw.between(0.005, 0.02),
      crackRatio: draw.between(0.06, 0.2),
    },
    feelRatio: draw.between(0.88, 1.12),
    couples: sensors.map((sensor, i) => ({
      sensor,
      is: draw.pick(Object.keys(coupleKinds)),
      heightRatio: i === 0 ? draw.between(0.25, 0.5) : draw.between(0.6, 0.95),
      noiseC: draw.between(0.05, 0.6),
      stepC,
      wire: { letter: 'K' as const, toleranceClass: draw.pick([1, 2] as const) },
    })),
    instrument: {
      sampleS: everyS,
      jitterS: draw.chance(0.5) ? draw.between(0, 0.3 * everyS) : 0,
      lostRatio: draw.chance(0.5) ? draw.between(0, 0.03) : 0,
      doubledRatio: draw.chance(0.25) ? draw.between(0, 0.02) : 0,
      swappedRatio: draw.chance(0.25) ? draw.between(0, 0.02) : 0,
    },
    lidSwitch: draw.chance(0.3),
    happenings: happeningsFor(draw, fault),
  };
}

/** The fault, how bad and how long; then somebody finds it, sooner or later, if no alert has been heard. */
function happeningsFor(draw: Draw, name: string | null): ScenarioData['happenings'] {
  if (name === null) return [];
  const fault = faults[name] as NamedFault;
  // The hand's own omissions end by themselves.
  const found = fault.effects.length === 0 ? undefined : CALLABLE.find((kind) => kind === fault.brings);
  const lastsS = draw.between(900, 5400);
  const isMended = fault.brings !== null && MENDED_LATER.has(name);
  return [
    {
      fault: name,
      strengthRatio: draw.between(0.7, 1.2),
      ...(fault.forS !== undefined && fault.brings !== null && { forS: fault.forS * draw.between(0.5, 1.8) }),
      ...(isMended && { forS: lastsS }),
    },
    ...(found === undefined ? [] : [{ called: found, when: { afterPreviousS: draw.between(900, 4500) } }]),
  ];
}

const CALLABLE = ['overshoot', 'stalled-ramp', 'heat-lost', 'lid-open-hot', 'uncontrolled-heat', 'hold-long'] as const;
/** What somebody puts right in the same firing: a fuse, a gasket pressed home, a plug pushed in. */
const MENDED_LATER = new Set([
  'a fuse goes',
  'the mains sag',
  'the door gasket gives way',
  'the relay no longer closes',
  'the jet clogs',
  'the couple breaks',
  'the instrument freezes',
  'the couple slips',
  'the disk refuses',
]);

/** One to three couples; two at least where the fault is between them. */
function sensorsFor(draw: Draw, fault: string | null): readonly string[] {
  const between = fault !== null && faults[fault]?.brings === 'sensors-disagree';
  return ['shelf', 'arch', 'back'].slice(0, between ? draw.whole(2, 3) : draw.whole(1, 3));
}

/** Paint, enamel, stain: peaks and holds from `reference/practice`, paces drawn wide. Common practice, no source. */
function scheduleFor(draw: Draw, heat: 'gas' | 'electric', toleranceC: number): unknown {
  const topC = 5 * draw.whole(108, 134);
  const propC = draw.pick([380, 420, 450]);
  const firstCPerH = 10 * draw.whole(12, 28);
  const lastCPerH = 10 * draw.whole(8, Math.min(20, firstCPerH / 10));
  const anneals = heat === 'electric' && draw.chance(0.4);
  const lid = heat === 'gas' ? 'door' : 'lid';
  const segments: Segment[] = [
    {
      kind: 'ramp',
      toC: propC,
      rateCPerH: firstCPerH,
      opening: 'propped',
      acts: [{ when: 'end', do: `close the ${lid}`, callMinutes: 3 }],
    },
    { kind: 'ramp', toC: topC, rateCPerH: lastCPerH },
    { kind: 'hold', minutes: draw.whole(8, 20) },
    ...(anneals
      ? [
          { kind: 'ramp', toC: 530, rateCPerH: 120 } as const,
          { kind: 'hold', minutes: draw.whole(10, 40) } as const,
          { kind: 'ramp', toC: 430, rateCPerH: 10 * draw.whole(4, 9) } as const,
        ]
      : []),
    { kind: 'ramp', toC: 150, rateCPerH: 'let-fall' },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall', opening: 'free' },
  ];
  return {
    name: `${topC} °C`,
    toleranceC,
    safeOpenC: 150,
    // The medium bears no more than this; common practice, no source.
    limits: [{ fromC: 100, toC: 400, maxCPerH: 400, why: 'the medium boils' }],
    segments,
    source: 'invented for the corpus',
  };
}

/** Kilns of one kind differ: room, load, brick, heat, leaks. */
function changeOf(draw: Draw, { heat, spec }: PlantSpec, plateMm: number): object {
  const { chamber } = spec;
  const size = draw.between(0.85, 1.2);
  return {
    chamber: {
      widthM: chamber.widthM * size,
      depthM: chamber.depthM * draw.between(0.85, 1.2),
      shelfKg: chamber.shelfKg * draw.between(0.6, 2),
      leakKgPerS: chamber.leakKgPerS * draw.between(0.3, 3),
      glassM2: chamber.glassM2 * draw.between(0.3, 1.1),
      roomC: draw.between(6, 32),
      plateMm,
    },
    fullPowerW: spec.fullPowerW * size * draw.between(1, 1.35),
    ...(heat === 'gas' && { flameOnBrickRatio: draw.between(0.35, 0.6) }),
  };
}
