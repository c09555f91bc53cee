/** How well the alerts of one firing told of what really went wrong in it. Pure. */
import type { AlertKind, Phase, Priority } from '../../daemon/core/events.ts';
import type { FiringFacts, TrueFault } from './alerts-corpus.ts';
import type { Told } from './alerts-feed.ts';
import { deadlineOf, isConsequence, rightKinds, TRUE_BY } from './alerts-kinds.ts';

/** Readings and truth are a little apart. */
const BEFORE_ONSET_S = 60;
/** A hand that comes late may be called before it is late. */
const BEFORE_HARM_S = 1800;
/** Heat in the brick goes on for a while when the fault is over. */
const AFTER_END_S = 1200;
/** A harm of the glass this near makes an alert about it true. */
const NEAR_HARM_S = 1800;

/** One alert from its first word to its last. */
export interface WholeAlert {
  readonly id: string;
  readonly kind: AlertKind;
  readonly firstPhase: Phase;
  readonly priority: Priority;
  readonly fromS: number;
  readonly happeningS: number | null;
  /** null where it still stood at the end. */
  readonly overS: number | null;
  /** All that it named, first to last. */
  readonly causes: readonly string[];
  readonly message: string;
}

export interface FaultScore {
  readonly kind: AlertKind;
  readonly onsetS: number;
  readonly harmS: number | null;
  readonly endsS: number | null;
  readonly deadlineS: number;
  readonly isMild: boolean;
  /** When the first right alert came, by its own kind alone and by equivalents too; null where none came. */
  readonly strictS: number | null;
  readonly rightS: number | null;
  readonly rightKind: AlertKind | null;
  /** Of a sensor-fault told as such: whether it named the cause; else null. */
  readonly namesCause: boolean | null;
  /** Right alerts that began within the fault's window. */
  readonly onsets: number;
  readonly wrongKinds: readonly AlertKind[];
  /** Of them those told before the first right one, or without one. */
  readonly wrongFirst: readonly AlertKind[];
}

export interface FalseAlert {
  readonly kind: AlertKind;
  readonly id: string;
  readonly fromS: number;
  readonly wasHappening: boolean;
  readonly priority: Priority;
  /** The glass did suffer what it speaks of, though no fault was meant. */
  readonly isTrueByGlass: boolean;
}

export interface FiringScore {
  readonly alerts: readonly WholeAlert[];
  readonly faults: readonly FaultScore[];
  readonly falseAlerts: readonly FalseAlert[];
  /** Seconds in which every alert is a false one. */
  readonly quietS: number;
  /** Alerts that began after all faults were over. */
  readonly after: readonly AlertKind[];
  /** It was meant to go wrong and did not, before the watch ended. */
  readonly cameToNothing: boolean;
}

export interface Meant {
  /** The kind that the fault should bring; null in a quiet firing. */
  readonly brings: AlertKind | null;
  /** What befalls the couple, as `cause` of an alert names it. */
  readonly causes: readonly string[];
}

export function wholeAlerts(told: readonly Told[]): WholeAlert[] {
  const byId = new Map<string, Told[]>();
  for (const one of told) {
    const of = byId.get(one.id);
    if (of === undefined) byId.set(one.id, [one]);
    else of.push(one);
  }
  return [...byId.values()].flatMap((stages) => {
    const [first] = stages;
    if (first === undefined) return [];
    const { id, kind, phase, message, atS } = first;
    const causes = stages.flatMap((s) => s.cause ?? []);
    const when = (wanted: Phase): number | null => stages.find((s) => s.phase === wanted)?.atS ?? null;
    const priority = worst(stages.map((s) => s.priority));
    const overS = when('over');
    return [
      { id, kind, firstPhase: phase, priority, fromS: atS, happeningS: when('happening'), overS, causes, message },
    ];
  });
}

const ORDER: readonly Priority[] = ['now', 'soon', 'note'];

function worst(priorities: readonly Priority[]): Priority {
  return ORDER.find((p) => priorities.includes(p)) ?? 'note';
}

export function scoreFiring(facts: FiringFacts, meant: Meant, told: readonly Told[], watchedS: number): FiringScore {
  const alerts = wholeAlerts(told);
  const active = joined(facts.faults).filter((fault) => fault.onsetS < watchedS);
  const windows = active.map((fault) => ({ fault, ...windowOf(fault, watchedS) }));
  const rights = windows.map((w) => ({ ...w, kinds: rightKinds(w.fault.kind, meant.causes) }));
  const isRightFor = (w: (typeof rights)[number], a: WholeAlert): boolean =>
    w.kinds.has(a.kind) && stands(a, w.fromS, w.untilS);
  const scores = rights.map((w): FaultScore => {
    const deadline = deadlineOf(w.fault, meant.causes);
    const right = alerts.filter((a) => isRightFor(w, a));
    const firstOf = (some: readonly WholeAlert[]) => [...some].sort((a, b) => a.fromS - b.fromS)[0];
    const first = firstOf(right);
    const strict = firstOf(right.filter((a) => a.kind === w.fault.kind));
    const within = alerts.filter((a) => a.fromS >= w.fromS && a.fromS <= w.untilS);
    const wrong = within.filter(
      (a) =>
        !rights.some((other) => isRightFor(other, a)) &&
        !windows.some((other) => isConsequence(other.fault.kind, meant.causes, a.kind)) &&
        !isTrueByGlass(facts, a),
    );
    return {
      kind: w.fault.kind,
      onsetS: w.fault.onsetS,
      harmS: w.fault.harmS,
      endsS: w.fault.endsS,
      deadlineS: deadline.atS,
      isMild: deadline.isMild,
      strictS: strict === undefined ? null : Math.max(strict.fromS, w.fromS),
      rightS: first === undefined ? null : Math.max(first.fromS, w.fromS),
      rightKind: first?.kind ?? null,
      namesCause: strict?.kind === 'sensor-fault' ? strict.causes.some((c) => meant.causes.includes(c)) : null,
      onsets: right.filter((a) => a.fromS >= w.fromS).length,
      wrongKinds: wrong.map((a) => a.kind),
      wrongFirst: wrong.filter((a) => first === undefined || a.fromS < first.fromS).map((a) => a.kind),
    };
  });
  const cameToNothing = meant.brings !== null && active.length === 0;
  const quietS = cameToNothing ? 0 : Math.max(0, Math.min(watchedS, ...windows.map((w) => w.fromS)));
  const lastS = Math.max(...windows.map((w) => w.untilS));
  return {
    alerts,
    faults: scores,
    falseAlerts: alerts.filter((a) => a.fromS < quietS).map((a) => falseAlert(facts, a)),
    quietS,
    after: windows.length === 0 ? [] : alerts.filter((a) => a.fromS > lastS).map((a) => a.kind),
    cameToNothing,
  };
}

/** Two troubles of one kind at one time are one to the person: gas that rises, and a hand that comes late to it. */
export function joined(faults: readonly TrueFault[]): TrueFault[] {
  const all: TrueFault[] = [];
  for (const fault of [...faults].sort((a, b) => a.onsetS - b.onsetS)) {
    const i = all.findIndex((f) => f.kind === fault.kind && fault.onsetS <= (f.endsS ?? Number.POSITIVE_INFINITY));
    const one = all[i];
    if (one === undefined) all.push(fault);
    else all[i] = join(one, fault);
  }
  return all;
}

function join(a: TrueFault, b: TrueFault): TrueFault {
  const first = (x: number | null, y: number | null): number | null =>
    x === null ? y : y === null ? x : Math.min(x, y);
  return {
    ...a,
    harmS: first(a.harmS, b.harmS),
    endsS: a.endsS === null || b.endsS === null ? null : Math.max(a.endsS, b.endsS),
    at15CS: first(a.at15CS, b.at15CS),
    atToleranceS: first(a.atToleranceS, b.atToleranceS),
  };
}

function windowOf(fault: TrueFault, watchedS: number): { readonly fromS: number; readonly untilS: number } {
  const { kind, onsetS, harmS, endsS } = fault;
  const beforeHarmS = kind === 'overshoot' && harmS !== null ? harmS - BEFORE_HARM_S : onsetS;
  return {
    fromS: Math.max(0, Math.min(onsetS - BEFORE_ONSET_S, beforeHarmS)),
    untilS: endsS === null ? watchedS : Math.min(watchedS, endsS + AFTER_END_S),
  };
}

function stands(alert: WholeAlert, fromS: number, untilS: number): boolean {
  return alert.fromS <= untilS && (alert.overS === null || alert.overS > fromS);
}

function isTrueByGlass(facts: FiringFacts, alert: WholeAlert): boolean {
  const harms = TRUE_BY[alert.kind] ?? [];
  return facts.harms.some((h) => {
    // A hold that was too long stays so for ever; told it is as it becomes so.
    const untilS = h.harm === 'hold-too-long' ? h.fromS : h.untilS;
    return harms.includes(h.harm) && h.fromS <= alert.fromS + NEAR_HARM_S && untilS >= alert.fromS - NEAR_HARM_S;
  });
}

function falseAlert(facts: FiringFacts, a: WholeAlert): FalseAlert {
  const { kind, id, fromS, priority } = a;
  return { kind, id, fromS, wasHappening: a.happeningS !== null, priority, isTrueByGlass: isTrueByGlass(facts, a) };
}
