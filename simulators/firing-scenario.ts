/** A whole firing on a simulated clock: schedule, kiln, operator, couples and what goes wrong, the same for one seed. */
import type { AlertKind, Phase } from '../daemon/core/events.ts';
import { seededRandom } from '../daemon/core/numbers/seeded-random.ts';
import { type KilnSetup, rulingSensor } from '../daemon/core/plan/kiln.ts';
import type { Schedule } from '../daemon/core/plan/schedule.ts';
import { type ElectricKilnSpec, electricKiln } from './electric-kiln.ts';
import { type FaultTruth, truthKeeper } from './firing-truth.ts';
import { type GasKilnSpec, gasKiln } from './gas-kiln.ts';
import type { KilnPlant } from './kiln-plant.ts';
import { type OperatorSpec, operator } from './operator.ts';
import type { OperatorAct } from './operator-hand.ts';
import { type CoupleSpec, thermocouple } from './thermocouple.ts';

/**
 * When something happens: seconds after the start, seconds after the fault before it in the list, or as the ruling
 * couple first shows a temperature.
 */
export type Moment =
  | { readonly afterS: number }
  | { readonly afterPreviousS: number }
  | { readonly climbingC: number }
  | { readonly fallingC: number };

export type ScenarioFault = { readonly when: Moment } & (
  | { readonly kind: 'bottle-sinks'; readonly overS: number; readonly toRatio: number }
  | { readonly kind: 'blown-out' }
  | { readonly kind: 'mains-sag'; readonly toRatio: number }
  | { readonly kind: 'silence'; readonly forS: number; readonly sensors?: readonly string[] }
  | { readonly kind: 'door-opened'; readonly openRatio: number; readonly forS: number }
  /** Someone calls the operator, where no daemon is listening to do it. */
  | { readonly kind: 'called'; readonly alert: AlertKind; readonly phase: Phase }
);

export interface FiringScenario {
  readonly name: string;
  readonly seed: number;
  readonly startedAtMs: number;
  readonly kiln: KilnSetup;
  readonly schedule: Schedule;
  readonly plant:
    | { readonly heat: 'gas'; readonly spec: GasKilnSpec }
    | { readonly heat: 'electric'; readonly spec: ElectricKilnSpec };
  readonly operator: OperatorSpec;
  readonly couples: readonly CoupleSpec[];
  readonly sampleS: number;
  readonly lidSwitch: boolean;
  readonly faults: readonly ScenarioFault[];
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
}

export interface LiveFiring {
  /** Runs on to that instant, or to the end of the firing, whichever comes first. */
  step(toMs: number): ScenarioNews;
  /** The operator hears an alert at the instant that the firing has reached. */
  told(alert: AlertKind, phase: Phase): void;
  atMs(): number;
  ended(): boolean;
  truth(): readonly FaultTruth[];
  readonly plant: KilnPlant;
}

interface Running {
  readonly fault: ScenarioFault;
  readonly sinceS: number;
}

export function liveFiring(scenario: FiringScenario): LiveFiring {
  const { plant: kind, schedule, kiln, seed, startedAtMs } = scenario;
  const gas = kind.heat === 'gas' ? gasKiln(kind.spec) : null;
  const electric = kind.heat === 'electric' ? electricKiln(kind.spec, schedule, seed + 1) : null;
  const plant: KilnPlant = (gas ?? electric) as KilnPlant;
  const painter = operator(scenario.operator, kind.heat, schedule, seededRandom(seed + 2));
  const couples = scenario.couples.map((c, i) => thermocouple(c, plant, seededRandom(seed + 10 + i)));
  const truth = truthKeeper(schedule, kiln.toleranceC ?? schedule.toleranceC ?? 6);
  const rules = rulingSensor(kiln);
  let s = 0;
  let shownC: number | null = null;
  let hottestC = Number.NEGATIVE_INFINITY;
  /** When each fault of the list began, in seconds. */
  const beganS: (number | undefined)[] = scenario.faults.map(() => undefined);
  let running: Running[] = [];
  const doors = { operatorRatio: 0, faultRatio: 0 };

  const atMs = (): number => startedAtMs + s * 1000;
  let planDoneS: number | null = null;
  const ended = (): boolean => {
    if (planDoneS === null && painter.segment() >= schedule.segments.length) planDoneS = s;
    return s > scenario.endsAfterS || (planDoneS !== null && s > planDoneS + (scenario.coolsForS ?? 0));
  };

  function isDue(when: Moment, index: number): boolean {
    if ('afterS' in when) return s >= when.afterS;
    if ('afterPreviousS' in when) {
      const previousS = beganS[index - 1];
      return previousS !== undefined && s >= previousS + when.afterPreviousS;
    }
    if (shownC === null) return false;
    if ('climbingC' in when) return shownC >= when.climbingC;
    return hottestC > when.fallingC + 20 && shownC <= when.fallingC;
  }

  const setDoor = (): void =>
    plant.turn({ control: 'door', openRatio: Math.max(doors.operatorRatio, doors.faultRatio) });

  function begin(fault: ScenarioFault): void {
    switch (fault.kind) {
      case 'blown-out':
        gas?.blowOut();
        truth.begins('heat-lost', atMs());
        return;
      case 'mains-sag':
        electric?.setMains(fault.toRatio);
        truth.begins('stalled-ramp', atMs());
        return;
      case 'door-opened':
        doors.faultRatio = fault.openRatio;
        setDoor();
        truth.begins('lid-open-hot', atMs());
        running.push({ fault, sinceS: s });
        return;
      case 'bottle-sinks':
        truth.begins('stalled-ramp', atMs());
        running.push({ fault, sinceS: s });
        return;
      case 'silence':
        truth.begins('silence', atMs());
        running.push({ fault, sinceS: s });
        return;
      case 'called':
        painter.told(atMs(), fault.alert, fault.phase);
        return;
    }
  }

  /** False once it is over. */
  function goesOn({ fault, sinceS }: Running): boolean {
    const ranS = s - sinceS;
    if (fault.kind === 'bottle-sinks') {
      gas?.setBottle(1 - (1 - fault.toRatio) * Math.min(1, ranS / fault.overS));
      return true;
    }
    if (fault.kind === 'silence') {
      if (ranS < fault.forS) return true;
      truth.ends('silence', atMs());
      return false;
    }
    if (fault.kind === 'door-opened') {
      if (ranS < fault.forS && doors.faultRatio > 0) return true;
      doors.faultRatio = 0;
      setDoor();
      truth.ends('lid-open-hot', atMs());
      return false;
    }
    return false;
  }

  function carryOut(act: OperatorAct): void {
    if (act.turn.control === 'door') {
      doors.operatorRatio = act.turn.openRatio;
      // He shuts it, whoever opened it.
      if (act.turn.openRatio === 0) doors.faultRatio = 0;
      setDoor();
      return;
    }
    plant.turn(act.turn);
    if (act.turn.control === 'new-bottle') {
      running = running.filter((r) => r.fault.kind !== 'bottle-sinks');
      truth.ends('stalled-ramp', act.atMs);
    }
    if (act.turn.control === 'light') truth.ends('heat-lost', act.atMs);
  }

  const isSilent = (sensor: string): boolean =>
    running.some(({ fault }) => fault.kind === 'silence' && (fault.sensors?.includes(sensor) ?? true));

  function sample(rows: ScenarioRow[]): void {
    for (const couple of couples) {
      const celsius = couple.read();
      if (isSilent(couple.sensor)) continue;
      if (couple.sensor === rules && celsius !== null) {
        shownC = celsius;
        hottestC = Math.max(hottestC, celsius);
      }
      const row: ScenarioRow = { atMs: atMs(), sensor: couple.sensor, celsius, glassC: plant.celsius('glass') };
      rows.push(scenario.lidSwitch ? { ...row, lid: plant.doorIsOpen() ? 'open' : 'closed' } : row);
    }
  }

  function second(rows: ScenarioRow[], acts: OperatorAct[]): void {
    if (s % scenario.sampleS === 0) sample(rows);
    scenario.faults.forEach((fault, i) => {
      if (beganS[i] !== undefined || !isDue(fault.when, i)) return;
      beganS[i] = s;
      begin(fault);
    });
    running = running.filter(goesOn);
    for (const act of painter.step(atMs(), shownC)) {
      // Called to a door that somebody has shut meanwhile.
      if (act.turn.control === 'door' && act.turn.openRatio === 0 && !plant.doorIsOpen()) continue;
      carryOut(act);
      acts.push(act);
    }
    truth.watch(atMs(), plant.celsius('glass'), painter.lateSinceMs(), painter.isAtValve());
    plant.step(1);
    for (const couple of couples) couple.step(1);
    s += 1;
  }

  return {
    step(toMs) {
      const rows: ScenarioRow[] = [];
      const acts: OperatorAct[] = [];
      while (atMs() <= toMs && !ended()) second(rows, acts);
      return { rows, acts };
    },
    told: (alert, phase) => painter.told(atMs(), alert, phase),
    atMs,
    ended,
    truth: () => truth.faults(),
    plant,
  };
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

/** `time,sensor,celsius[,lid]`: an empty celsius is no valid value. */
export function toCsv(rows: Iterable<ScenarioRow>): string {
  const lines: string[] = [];
  let withLid = false;
  for (const row of rows) {
    if (lines.length === 0) {
      withLid = row.lid !== undefined;
      lines.push(withLid ? 'time,sensor,celsius,lid' : 'time,sensor,celsius');
    }
    const fields = [new Date(row.atMs).toISOString(), row.sensor, row.celsius === null ? '' : `${row.celsius}`];
    lines.push((withLid ? [...fields, row.lid ?? ''] : fields).join(','));
  }
  return lines.length === 0 ? 'time,sensor,celsius\n' : `${lines.join('\n')}\n`;
}
