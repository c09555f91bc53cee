/** A whole firing on a simulated clock: schedule, kiln, operator, couples and what goes wrong, the same for one seed. */
import type { AlertKind, Phase } from '../daemon/core/events.ts';
import type { EdgeNews } from '../daemon/core/inputs.ts';
import { seededRandom } from '../daemon/core/numbers/seeded-random.ts';
import { type KilnSetup, rulingSensor } from '../daemon/core/plan/kiln.ts';
import { peakC, type Schedule } from '../daemon/core/plan/schedule.ts';
import { electricKiln } from './electric-kiln.ts';
import { beginEffect, type Effect, endEffect, growEffect, type World } from './faults/effect.ts';
import type { Moment } from './faults/moment.ts';
import { type FaultTruth, truthKeeper } from './firing-truth.ts';
import { gasKiln } from './gas-kiln.ts';
import { type InstrumentSpec, instrument as instrumentOf } from './instrument.ts';
import type { KilnPlant, Mishap } from './kiln-plant.ts';
import { type OperatorSpec, operator } from './operator.ts';
import type { OperatorAct } from './operator-hand.ts';
import type { PlantSpec } from './plants.ts';
import type { CoupleSpec } from './thermocouple.ts';

/** Something that happens in the firing, and when. */
export type Happening = { readonly when: Moment } & (
  | {
      /** Which alert it should bring; null where it is harmless. */
      readonly brings: AlertKind | null;
      readonly effects: readonly Effect[];
      /** How long; without it to the end, or until the painter mends it. */
      readonly forS?: number;
    }
  /** Someone calls the operator, where no daemon is listening to do it. */
  | { readonly called: AlertKind }
);

export interface FiringScenario {
  readonly name: string;
  readonly seed: number;
  readonly startedAtMs: number;
  readonly kiln: KilnSetup;
  readonly schedule: Schedule;
  readonly plant: PlantSpec;
  readonly operator: OperatorSpec;
  readonly couples: readonly CoupleSpec[];
  readonly instrument: Omit<InstrumentSpec, 'couples'>;
  readonly lidSwitch: boolean;
  /** How much hotter than the ruling couple shows the glass is when all goes well; harm is counted from there. */
  readonly glassHabitC: number;
  readonly happenings: readonly Happening[];
  /** The firing is cut off here if the plan is not over before. */
  readonly endsAfterS: number;
  /** How long the kiln is still watched once the plan is over. */
  readonly coolsForS?: number;
}

export interface ScenarioRow {
  readonly atMs: number;
  readonly sensor: string;
  readonly celsius: number | null;
  /** Where there is a switch at the lid. */
  readonly lid?: 'open' | 'closed';
  /** What no instrument shows: the glass. For judging only. */
  readonly glassC: number;
}

export interface ScenarioNews {
  readonly rows: readonly ScenarioRow[];
  readonly acts: readonly OperatorAct[];
  /** What befell the daemon's own disk. */
  readonly edges: readonly { readonly atMs: number; readonly news: EdgeNews }[];
}

export interface LiveFiring {
  /** Runs on to that instant, or to the end of the firing, whichever comes first. */
  step(toMs: number): ScenarioNews;
  /** The operator hears an alert at the instant that the firing has reached. */
  told(alert: AlertKind, phase: Phase): void;
  atMs(): number;
  ended(): boolean;
  truth(): readonly FaultTruth[];
  /** What that sensor would show with no fault and no noise: for judging only. */
  soundC(sensor: string): number;
  readonly plant: KilnPlant;
}

type Event = Extract<Happening, { effects: readonly Effect[] }>;

interface Running {
  readonly event: Event;
  readonly sinceS: number;
  /** Its number in the truth; null where it is harmless. */
  readonly truth: number | null;
}

/** The painter looks at the instrument itself, or with the hand pyrometer, when nothing has come for so long. */
const LOOKS_ELSEWHERE_S = 45;

export function liveFiring(scenario: FiringScenario): LiveFiring {
  const { plant: kind, schedule, kiln, seed, startedAtMs } = scenario;
  const plant = kind.heat === 'gas' ? gasKiln(kind.spec) : electricKiln(kind.spec, schedule, seed + 1);
  const painter = operator(scenario.operator, kind.heat, schedule, seededRandom(seed + 2));
  const instrument = instrumentOf({ ...scenario.instrument, couples: scenario.couples }, plant, seed + 10, startedAtMs);
  const truth = truthKeeper(schedule, schedule.toleranceC ?? kiln.toleranceC ?? 6);
  const rules = rulingSensor(kiln);
  const ruling = instrument.couple(rules);
  const topC = peakC(schedule);
  const topHold = schedule.segments.findIndex((s, i) => s.kind === 'hold' && isAt(schedule, i, topC));
  let s = 0;
  let shownC: number | null = null;
  let heardS = 0;
  let hottestC = Number.NEGATIVE_INFINITY;
  let topAtS: number | null = null;
  let holdOverAtS: number | null = null;
  /** When each happening of the list began, in seconds. */
  const beganS: (number | undefined)[] = scenario.happenings.map(() => undefined);
  let running: Running[] = [];
  const slips: number[] = [];
  let edges: { atMs: number; news: EdgeNews }[] = [];
  const doors = { operatorRatio: 0, otherRatio: 0 };

  const atMs = (): number => startedAtMs + s * 1000;
  let planDoneS: number | null = null;
  const ended = (): boolean => {
    if (planDoneS === null && painter.segment() >= schedule.segments.length) planDoneS = s;
    return s > scenario.endsAfterS || (planDoneS !== null && s > planDoneS + (scenario.coolsForS ?? 0));
  };

  const setDoor = (): void =>
    plant.turn({ control: 'door', openRatio: Math.max(doors.operatorRatio, doors.otherRatio) });

  const world: World = {
    plant,
    instrument,
    rulingSensor: rules,
    segmentCount: schedule.segments.length,
    openDoor(ratio) {
      doors.otherRatio = ratio;
      setDoor();
    },
    edge: (news) => void edges.push({ atMs: atMs(), news }),
  };

  function isDue(when: Moment, index: number): boolean {
    if ('afterS' in when) return s >= when.afterS;
    if ('holdingS' in when) return topAtS !== null && s >= topAtS + when.holdingS;
    if ('afterHoldS' in when) return holdOverAtS !== null && s >= holdOverAtS + when.afterHoldS;
    if ('afterPreviousS' in when) {
      const previousS = beganS[index - 1];
      return previousS !== undefined && s >= previousS + when.afterPreviousS;
    }
    if (shownC === null) return false;
    if ('climbingC' in when) return shownC >= when.climbingC;
    if ('belowTopC' in when) return shownC >= topC - when.belowTopC;
    return hottestC > when.fallingC + 20 && shownC <= when.fallingC;
  }

  function begin(happening: Happening): void {
    if ('called' in happening) {
      painter.told(atMs(), happening.called, 'happening');
      return;
    }
    for (const effect of happening.effects) beginEffect(effect, world);
    if (happening.effects.length === 0) return;
    const number = happening.brings === null ? null : truth.begins(happening.brings, atMs());
    running.push({ event: happening, sinceS: s, truth: number });
  }

  function finish(one: Running): void {
    for (const effect of one.event.effects) endEffect(effect, world);
    if (one.truth !== null) truth.ends(one.truth, atMs());
  }

  /** False once it is over. */
  function goesOn(one: Running): boolean {
    const ranS = s - one.sinceS;
    if (one.event.forS !== undefined && ranS >= one.event.forS) {
      finish(one);
      return false;
    }
    for (const effect of one.event.effects) growEffect(effect, world, ranS);
    return true;
  }

  /** What the painter has mended ends before its time. */
  function mend(isMended: (effect: Effect) => boolean): void {
    const mended = running.filter((one) => one.event.effects.some(isMended));
    running = running.filter((one) => !mended.includes(one));
    for (const one of mended) if (one.truth !== null) truth.ends(one.truth, atMs());
  }
  const isMishap =
    (...kinds: readonly Mishap['kind'][]) =>
    (effect: Effect): boolean =>
      effect.on === 'kiln' && kinds.includes(effect.mishap.kind);

  const isEmptyBottle = (effect: Effect): boolean =>
    effect.on === 'kiln' && effect.mishap.kind === 'bottle' && effect.mishap.ratio === 0;

  function carryOut(act: OperatorAct): void {
    const { turn } = act;
    if (turn.control === 'door') {
      doors.operatorRatio = turn.openRatio;
      // He shuts it, whoever opened it.
      if (turn.openRatio === 0) {
        doors.otherRatio = 0;
        mend((effect) => effect.on === 'door');
      }
      setDoor();
      return;
    }
    plant.turn(turn);
    if (turn.control === 'new-bottle') mend(isMishap('bottle'));
    if (turn.control === 'light') {
      // He has looked why it went out.
      if (running.some((one) => one.event.effects.some(isEmptyBottle))) plant.turn({ control: 'new-bottle' });
      mend(isMishap('flame-out'));
      mend(isEmptyBottle);
    }
    if (turn.control === 'damper') mend(isMishap('damper-slips'));
    // Gas off at the bottle, or the switch at the wall: that ends any heat that would not stop.
    if (turn.control === 'switch' && !turn.on) {
      mend(isMishap('relay', 'controller-couple'));
      mend((effect) => effect.on === 'somebody' && effect.turn.control === 'programme');
    }
    if (turn.control === 'gas-off' && act.what === 'bottle') {
      plant.suffer({ kind: 'bottle', ratio: 0 });
      mend(isMishap('valve-stuck', 'bottle'));
    }
  }

  function sample(rows: ScenarioRow[]): void {
    for (const row of instrument.step(atMs())) {
      if (row.sensor === rules) {
        heardS = s;
        shownC = row.celsius;
        if (row.celsius !== null) hottestC = Math.max(hottestC, row.celsius);
      }
      const told: ScenarioRow = { ...row, glassC: plant.celsius('glass') };
      rows.push(scenario.lidSwitch ? { ...told, lid: plant.doorIsOpen() ? 'open' : 'closed' } : told);
    }
    if (s - heardS > Math.max(LOOKS_ELSEWHERE_S, 3 * scenario.instrument.sampleS)) shownC = Math.round(ruling.tipC());
    if (topAtS === null && shownC !== null && shownC >= topC - 2) topAtS = s;
    if (holdOverAtS === null && painter.segment() > topHold && topHold >= 0) holdOverAtS = s;
  }

  function tellSlips(): void {
    painter.slips().forEach((slip, i) => {
      const number = slips[i] ?? truth.begins(slip.brings, slip.sinceMs);
      slips[i] = number;
      if (slip.untilMs !== null) truth.ends(number, slip.untilMs);
    });
  }

  function second(rows: ScenarioRow[], acts: OperatorAct[]): void {
    sample(rows);
    scenario.happenings.forEach((happening, i) => {
      if (beganS[i] !== undefined || !isDue(happening.when, i)) return;
      beganS[i] = s;
      begin(happening);
    });
    running = running.filter(goesOn);
    for (const act of painter.step(atMs(), shownC, plant.controller()?.segment)) {
      // Called to a door that somebody has shut meanwhile.
      if (act.turn.control === 'door' && act.turn.openRatio === 0 && !plant.doorIsOpen()) continue;
      carryOut(act);
      acts.push(act);
    }
    tellSlips();
    truth.watch(atMs(), plant.celsius('glass') - scenario.glassHabitC);
    plant.step(1);
    s += 1;
  }

  return {
    step(toMs) {
      const rows: ScenarioRow[] = [];
      const acts: OperatorAct[] = [];
      edges = [];
      while (atMs() <= toMs && !ended()) second(rows, acts);
      return { rows, acts, edges };
    },
    told: (alert, phase) => painter.told(atMs(), alert, phase),
    atMs,
    ended,
    truth: () => truth.faults(),
    soundC: (sensor) => instrument.couple(sensor).soundC(),
    plant,
  };
}

/** True where a hold keeps that temperature. */
function isAt(schedule: Schedule, index: number, celsius: number): boolean {
  for (let i = index; i >= 0; i--) {
    const segment = schedule.segments[i];
    if (segment?.kind === 'ramp') return segment.toC === celsius;
  }
  return false;
}

/** The firing's rows, one after the other, without a daemon to call the operator. */
export function* scenarioRows(scenario: FiringScenario): Generator<ScenarioRow> {
  const firing = liveFiring(scenario);
  while (!firing.ended()) yield* firing.step(firing.atMs() + 59_000).rows;
}

export interface FiredScenario {
  readonly rows: readonly ScenarioRow[];
  readonly acts: readonly OperatorAct[];
  readonly faults: readonly FaultTruth[];
}

export function fireScenario(scenario: FiringScenario): FiredScenario {
  const firing = liveFiring(scenario);
  const { rows, acts } = firing.step(Number.POSITIVE_INFINITY);
  return { rows, acts, faults: firing.truth() };
}
