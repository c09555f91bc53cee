/**
 * Which kinds of alert are a right answer to which fault, which follow from it, and by when it must be told. What is not
 * in these tables is a wrong explanation.
 */
import type { AlertKind } from '../../daemon/core/events.ts';
import type { Harm } from '../../simulators/harm.ts';
import type { TrueFault } from './alerts-corpus.ts';

type Kinds = Readonly<Partial<Record<AlertKind, readonly AlertKind[]>>>;

/** Another name for the same trouble: the person does the same thing. */
const EQUIVALENTS: Kinds = {
  // Heat that does not stop is what carries it over the top.
  overshoot: ['uncontrolled-heat'],
  // One is told early and the other late; both say that too little heat comes.
  'stalled-ramp': ['running-late'],
  'running-late': ['stalled-ramp'],
  // A relay that sticks while it is cold shows as too fast a climb first.
  'heating-too-fast': ['uncontrolled-heat'],
  // What draws the heat out may be the lid, and closing it is the advice of both.
  'cooling-too-fast': ['lid-open-hot'],
  'lid-open-hot': ['cooling-too-fast'],
  // No heat: the ramp stands, or the hold will be too short.
  'heat-lost': ['stalled-ramp', 'hold-short'],
  // Heat stays on: over the top, beyond the hold's end, or faster than the plan.
  'uncontrolled-heat': ['overshoot', 'heating-too-fast', 'hold-long'],
  // The hold is short because the heat has gone.
  'hold-short': ['heat-lost'],
  'hold-long': ['overshoot', 'uncontrolled-heat'],
  // A couple that lies beside good ones. One that shows nothing is silent too: see `rightKinds`.
  'sensor-fault': ['sensors-disagree'],
  'sensors-disagree': ['sensor-fault'],
  silence: ['sensor-fault'],
};

/** @param causes what befell the couple, as `cause` of an alert names it */
export function rightKinds(kind: AlertKind, causes: readonly string[]): ReadonlySet<AlertKind> {
  const showsNothing = causes.includes('open-circuit') || causes.includes('sentinel');
  const silence = kind === 'sensor-fault' && showsNothing ? (['silence'] as const) : [];
  return new Set([kind, ...(EQUIVALENTS[kind] ?? []), ...silence]);
}

/** What comes after such a fault in the kiln itself, and may be told as well. */
const CONSEQUENCES: Kinds = {
  overshoot: ['hold-long'],
  // Late at the top, whatever the cause was.
  'lid-open-hot': ['stalled-ramp', 'running-late'],
  'heat-lost': ['running-late', 'cooling-too-fast'],
  'heating-too-fast': ['overshoot'],
  'hold-short': ['cooling-too-fast'],
  // Half of the elements are gone: one couple lags behind the other.
  'stalled-ramp': ['sensors-disagree'],
  'running-late': ['sensors-disagree'],
  'sensors-disagree': ['stalled-ramp', 'running-late'],
  // Stamps that make no sense leave gaps.
  'clock-trouble': ['silence'],
};

/** @param causes as for `rightKinds` */
export function isConsequence(fault: AlertKind, causes: readonly string[], told: AlertKind): boolean {
  // What no couple can show is no reading.
  if (fault === 'sensor-fault' && told === 'silence' && causes.includes('out-of-range')) return true;
  return CONSEQUENCES[fault]?.includes(told) === true;
}

/** By which harm of the glass an alert of a kind is true, whoever did it. */
export const TRUE_BY: Readonly<Partial<Record<AlertKind, readonly Harm[]>>> = {
  overshoot: ['too-hot'],
  'heating-too-fast': ['heated-too-fast'],
  'cooling-too-fast': ['cooled-too-fast', 'chilled'],
  'hold-short': ['hold-too-short'],
  'hold-long': ['hold-too-long'],
  'uncontrolled-heat': ['too-hot', 'hold-too-long'],
};

export const LID_DEADLINE_S = 60;
export const NOTHING_DEADLINE_S = 300;
export const UNHARMED_DEADLINE_S = 900;

/** Told only if it comes to harm: until then the plan is kept. */
const BY_HARM_ALONE: ReadonlySet<AlertKind> = new Set([
  'overshoot',
  'stalled-ramp',
  'running-late',
  'heating-too-fast',
  'cooling-too-fast',
  'hold-short',
  'hold-long',
]);

export interface Deadline {
  readonly atS: number;
  /** The fault stayed so small that keeping quiet about it is no mistake. */
  readonly isMild: boolean;
}

/** @param causes what befell the couple, as `cause` of an alert names it */
export function deadlineOf(fault: TrueFault, causes: readonly string[]): Deadline {
  const { kind, onsetS, harmS } = fault;
  if (kind === 'lid-open-hot') return { atS: onsetS + LID_DEADLINE_S, isMild: false };
  if (kind === 'silence' || causes.includes('open-circuit')) return { atS: onsetS + NOTHING_DEADLINE_S, isMild: false };
  const isDrift = causes.includes('drift');
  if (isDrift || causes.includes('frozen') || causes.includes('slipped')) {
    const offS = isDrift ? fault.at15CS : fault.atToleranceS;
    // Never so far off: then what it did to the glass, or nothing.
    return offS === null ? byHarm(onsetS, harmS, true) : { atS: offS, isMild: false };
  }
  return byHarm(onsetS, harmS, BY_HARM_ALONE.has(kind));
}

function byHarm(onsetS: number, harmS: number | null, isMildWithout: boolean): Deadline {
  return harmS === null ? { atS: onsetS + UNHARMED_DEADLINE_S, isMild: isMildWithout } : { atS: harmS, isMild: false };
}
