/** Every text of the page that is not a sentence of the daemon's own, in one place. */

import type { ScreenKey } from './route.ts';
import type { AlertEvent, AlertKind, Phase, Priority } from './wire-types.ts';

export const appName = 'Spyhole';

export const screens: Readonly<Record<ScreenKey, string>> = { watch: 'Watch', firings: 'Firings', begin: 'Begin' };

/** What the word of a badge is: how soon a hand is wanted. */
export const priorityWord: Readonly<Record<Priority, string>> = { now: 'Now', soon: 'Soon', note: 'Note' };

/** Whether it is foreseen, going on or past. */
export const phaseWord: Readonly<Record<Phase, string>> = { foreseen: 'coming', happening: 'happening', over: 'was' };

/** The workshop's words for the kinds of alert. */
export const alertWord: Readonly<Record<AlertKind, string>> = {
  overshoot: 'too hot',
  'stalled-ramp': 'not climbing',
  'running-late': 'running late',
  'heating-too-fast': 'climbing too fast',
  'cooling-too-fast': 'falling too fast',
  'lid-open-hot': 'open while hot',
  'heat-lost': 'heat lost',
  'uncontrolled-heat': 'stuck on',
  'hold-short': 'hold too short',
  'hold-long': 'hold too long',
  'sensor-fault': 'sensor doubtful',
  'sensors-disagree': 'sensors disagree',
  silence: 'no readings',
  'clock-trouble': 'clock set',
  'record-trouble': 'record in trouble',
};

/** A front loader and a top loader: the words of `lid-open-hot`, for one kiln. */
export function openWord(closure: 'lid' | 'door'): string {
  return closure === 'lid' ? 'Lid' : 'Door';
}

export const live = {
  notLive: 'NOT LIVE',
  waiting: 'Asking the kiln’s computer …',
  sentenceNotLive: (since: string) => `Not live: nothing heard since ${since}. Go and look at the kiln.`,
  sentenceNeverLive: 'Not live: the kiln’s computer does not answer. Is the daemon running?',
  lastKnown: (value: string, time: string) => `last ${value} at ${time}`,
  noReadingFor: (age: string) => `No reading for ${age}`,
  noReadingYet: 'No reading yet',
  age: (age: string) => `read ${age} ago`,
  grey: (age: string) => `no word for ${age}`,
  otherVersion: 'The daemon is newer than this page. Load the page again.',
};

export const watch = {
  noKiln: 'No kiln is set up. Write one under “kilns:” in the configuration and start the daemon again.',
  planWants: (value: string) => `plan ${value}`,
  next: 'Next',
  nothingNext: 'Nothing is asked of the hand.',
  done: 'Done',
  comeNow: 'Come now',
  comingCalls: 'Then',
  at: (time: string) => `at ${time}`,
  about: (time: string) => `about ${time}`,
  someTime: 'time not known yet',
  whole: 'Whole firing',
  near: 'Near now',
  curveReach: 'How much of the curve',
  emptyCurve: 'The curve will stand here once a firing begins. It begins by itself when the kiln warms.',
  emptyCurveNext: 'Choose the plan and begin',
  inWords: 'The curve in words and figures',
  plan: 'plan',
  ifNothingIsDone: (value: string, time: string) => `heading for ${value} at ${time}`,
  axisFrom: (value: string) => `axis from ${value}`,
  now: 'now',
  lastHeard: 'last heard',
  kilns: 'Kilns',
};

export const figures = {
  title: 'How it stands',
  segment: 'On the plan',
  rate: 'Pace',
  deviation: 'Against the plan',
  clock: 'Hold by the clock',
  inBand: 'Hold in the band',
  segmentEnds: 'This part ends',
  planEnds: 'Plan ends',
  crack: 'Can be cracked',
  unload: 'Can be unloaded',
  target: 'Target reached',
  howSure: (sensor: string) => `Sensor ${sensor}`,
  alertMark: (kind: AlertKind) => alertWord[kind],
  open: 'open',
  shut: 'closed',
};

export const alerts = {
  title: 'Alerts',
  pastTitle: 'Over, not yet seen',
  ofKiln: (name: string) => `${name}: `,
  why: 'Why',
  seen: 'I’ve seen it',
  putAside: 'Remind me in\u00a010',
  seenBy: (name: string) => `seen by ${name}`,
  asideUntil: (time: string) => `put aside until ${time}`,
  unknown: 'No readings since; it may still be going on.',
  since: (time: string) => `since ${time}`,
  foreseenFor: (time: string) => `about ${time}`,
  spoken: (alert: AlertEvent) => `${priorityWord[alert.priority]}: ${alert.message}`,
};

export const acts = {
  title: 'What hand and eye did',
  noFiring: 'Acts are logged once a firing is on.',
  name: 'Your name',
  log: 'Log it',
  cancel: 'Leave it',
  less: 'less',
  more: 'more',
  logged: (what: string, time: string) => `Logged at ${time}: ${what}.`,
  fallbackName: 'bench',
  emptyValue: 'Type the figure first, for example 3.',
};

export const theme = {
  toDark: 'Dark',
  toLight: 'Light',
};

export const begin = {
  title: 'Begin and end',
  elsewhere:
    'Begin and end from the kiln’s own computer. Here you can watch, say “I’ve seen it” and log what the hand did.',
  whichKiln: 'Which kiln',
  whichPlan: 'Which plan',
  chooseFirst: 'Choose a plan first, or “No plan yet”.',
  choosePlan: 'Choose a plan first.',
  noPlans: 'No schedule is on the shelf. Put one into profiles/schedules and start the daemon again.',
  withoutPlan: 'No plan yet',
  withoutPlanNote: 'The firing is recorded all the same; give the plan when you have it.',
  begin: (kiln: string) => `Begin in ${kiln}`,
  givePlan: (kiln: string) => `Give ${kiln} this plan`,
  isOn: (kiln: string, since: string, plan: string | null) =>
    plan === null
      ? `${kiln} has been firing since ${since}, with no plan.`
      : `${kiln} has been firing since ${since}: ${plan}.`,
  end: 'End this firing',
  endSure: 'Yes, end it',
  endKeep: 'Keep it going',
  endNote: 'Ending closes the record. The kiln itself is not touched.',
  peak: (value: string) => `peak ${value}`,
  lasts: (time: string) => `planned ${time}`,
};

export const firings = {
  title: 'Firings',
  one: 'A firing',
  empty: 'Past firings will stand here, each with its curve. The first one comes when a kiln warms.',
  emptyNext: 'Choose the plan and begin',
  on: 'going on',
  noPlan: 'no plan',
  peak: 'peak',
  peakOf: (sensor: string) => `Peak, ${sensor}`,
  alerts: (n: number) => (n === 0 ? 'no alert' : n === 1 ? '1 alert' : `${n} alerts`),
  simulated: 'simulated',
  loading: 'Reading the records …',
  back: 'All firings',
  curve: 'Curve over its plan',
  holdOf: (place: number) => `Hold, part ${place} of the plan`,
  holdInBand: (inBand: number, planned: number) =>
    `${Math.round(inBand * 10) / 10} of ${Math.round(planned * 10) / 10} min in the band`,
  actsBy: (name: string | null) => `What hand and eye did${name === null ? '' : ` (${name})`}`,
  noActs: 'Nothing was logged.',
  alertsTitle: 'Alerts',
  noAlerts: 'None. A quiet firing.',
  notes: 'Notes',
  noNotes: 'No note was written.',
  note: 'A note on this firing',
  write: 'Write it down',
  gaps: 'Gaps in the record',
  gap: 'gap',
  record: (lines: number, head: string) => `${lines} lines in the record, seal ${head}`,
  averted: 'averted',
};

export const table = {
  time: 'Time',
  planned: 'Plan',
  measured: 'Measured',
  sensor: 'Sensor',
  who: 'Who',
  what: 'What',
};

export const faults = {
  noAnswer: 'The kiln’s computer did not answer; it may or may not have been written. Look before you press again.',
  unreadable: 'The answer could not be read. Load the page again.',
};

export function simulatedBand(speed: number): string {
  const pace = speed === 1 ? 'at the pace of the wall’s clock' : `${Math.round(speed * 10) / 10} times as fast`;
  return `SIMULATED kiln, clock runs ${pace}`;
}
