/** Every text of the page that is not a sentence of the daemon's own, in one place. */

import type { ScreenKey } from './route.ts';
import type { AlertEvent, AlertKind, Heat, Phase, Priority, SignWord } from './wire-types.ts';

export const appName = 'Spyhole';

export const screens: Readonly<Record<ScreenKey, string>> = {
  watch: 'Watch',
  firings: 'Firings',
  compare: 'Firings compared',
  proof: 'Proof',
  begin: 'Begin',
  kilns: 'Kilns',
  screen: 'Screen',
};

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
  'sensor-fault': 'couple doubtful',
  'sensors-disagree': 'couples disagree',
  silence: 'no readings',
  'clock-trouble': 'clock wrong',
  'record-trouble': 'record not written',
};

/** Lost heat has another cause in each: the burner, or what feeds the elements. */
export const heatLostWord: Readonly<Record<Heat, string>> = { gas: 'flame out?', electric: 'no power?' };

/** What ails a couple, by the causes of `sensor-fault`. */
export const causeWord: Readonly<Record<string, string>> = {
  'open-circuit': 'couple broken or loose',
  reversed: 'leads swapped',
  frozen: 'figure stands still',
  jump: 'reading jumped',
  'out-of-range': 'impossible figure',
  drift: 'couple drifts',
  slipped: 'couple slipped?',
  sentinel: 'instrument has no value',
  'cold-junction': 'terminals warm or cold',
};

/** A front loader and a top loader: the words of `lid-open-hot`, for one kiln. */
export function openWord(closure: 'lid' | 'door'): string {
  return closure === 'lid' ? 'Lid' : 'Door';
}

/** How it moves, and how it lies to the plan. */
export const motion = {
  asPlanned: 'as planned',
  over: 'over',
  under: 'under',
  steady: 'steady',
  climbing: 'climbing',
  falling: 'falling',
  firing: 'firing',
  noFiring: 'no firing',
  hold: 'hold',
};

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
  noKiln: 'No kiln is set up yet. Set one up under Kilns.',
  planWants: (value: string) => `plan ${value}`,
  next: 'Next',
  nothingNext: 'Nothing is asked of the hand.',
  done: 'Done',
  comeNow: 'Come now',
  comingCalls: 'Then',
  at: (time: string) => `at ${time}`,
  about: (time: string) => `about ${time}`,
  someTime: 'later',
  whole: 'Whole firing',
  near: 'Near now',
  curveReach: 'How much of the curve',
  emptyCurve: 'The curve will stand here once a firing begins. It begins by itself when the kiln warms.',
  emptyCurveNext: 'Choose the plan and begin',
  inWords: 'The curve in words and figures',
  plan: 'plan',
  ifNothingIsDone: (value: string, time: string) => `heading for ${value} about ${time}`,
  offPlan: 'off the plan',
  byHand: (value: string) => `${value} by hand`,
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
  certificate: (sensor: string) => `Certificate of ${sensor}`,
  open: 'open',
  shut: 'closed',
  wants: 'the controller wants',
  gives: 'the controller gives',
};

export const alerts = {
  title: 'Alerts',
  pastTitle: 'Over, not yet seen',
  ofKiln: (name: string) => `${name}: `,
  why: 'Why, and what to do',
  because: 'Why',
  ifNothing: 'If nothing is done',
  whatToDo: 'What to do',
  timeToAct: 'Time for it',
  usualCause: 'Mostly',
  heldBack: 'Listed under it, without a sound of its own:',
  reset: 'It has stopped by itself. Go and look; then say that all is well.',
  allWell: 'All is well again',
  switchOff: 'Do not watch for this in this firing',
  switchOffWhy: 'Why not, in a few words',
  switchOffSure: 'Switch it off',
  switchOffNote:
    'It stays off until the firing ends, a line on this page says so all the while, and the record keeps who and why.',
  switchedOff: (kind: string, by: string, time: string, why: string) =>
    `Not watched in this firing: ${kind}. ${by} at ${time}: ${why}`,
  switchOn: 'Watch it again',
  seen: 'I’ve seen it',
  putAside: 'Remind me in\u00a010',
  seenBy: (name: string) => `seen by ${name}`,
  asideUntil: (time: string) => `put aside until ${time}`,
  unknown: 'No readings since; it may still be going on.',
  since: (time: string) => `since ${time}`,
  foreseenFor: (time: string) => `about ${time}`,
  spoken: (alert: AlertEvent) => `${priorityWord[alert.priority]}: ${alert.message}`,
};

/** What the voice says: the kiln first, since who hears it may stand between six. */
export const spoken = {
  lost: 'The page hears nothing from the kiln’s computer. Go and look at the kiln.',
  alert: (kiln: string, message: string) => (message.startsWith(kiln) ? message : `${kiln}. ${message}`),
  call: (kiln: string, sentence: string) => `${kiln}. ${sentence}`,
  test: (kiln: string) => `${kiln}. This is how I call you.`,
};

export const sound = {
  title: 'Bell and voice',
  on: 'Sound on',
  off: 'Sound is off: tap',
  offShort: 'Silent: tap',
  quiet: 'Quiet by choice',
  absent: 'No sound here',
  state: {
    on: 'The bell sounds on this screen.',
    off: 'The bell is silent: the browser lets nothing sound until this screen is tapped.',
    quiet: 'Somebody chose to keep this screen quiet. Alerts only show here.',
    absent: 'This browser has no sound. Use another screen to be called.',
  },
  voice: {
    ready: 'Sentences are spoken as well.',
    none: 'This browser has no voice: the bell sounds, the sentence stands on the page.',
  },
  ring: 'Ring the bell',
  heard: 'I heard it',
  notHeard: 'Nothing was heard. Is the volume up? Is a headset plugged in?',
  hear: 'You should hear three: wanted now, come to the kiln, soon.',
  confirmed: (name: string, time: string) => `Heard by ${name} at ${time}.`,
  untested: 'The bell was not tested for this firing.',
  test: 'Test it',
  beQuiet: 'Keep this screen quiet',
  beLoud: 'Let it sound',
  filed: 'Filed with the firing.',
};

export const screen = {
  title: 'This screen',
  wake: 'Stays lit',
  wakeState: {
    held: 'The screen is kept from going dark.',
    'not-held': 'The screen may go dark by itself.',
    refused:
      'The browser did not keep the screen lit, perhaps to spare the battery. Plug it in, or set it so in the system.',
    insecure:
      'A browser keeps the screen lit only for pages that come over https or from its own machine. Set the screen’s time-out in the system instead.',
    absent: 'This browser cannot keep the screen lit. Set the screen’s time-out in the system instead.',
  },
  keepLit: 'Keep it lit',
  mayGoDark: 'This screen may go dark by itself, and its bell with it.',
  insecureTitle: 'What this address cannot do',
  insecure:
    'This page came over plain http from another machine. The bell and the voice work once the screen was tapped. It cannot keep the screen lit, cannot be put among the apps, and opened without the network it shows the browser’s own error in place of NOT LIVE: these need https. Anybody in this network can read along.',
  install: 'Among the apps',
  installState: {
    opened: 'It was opened from among the apps. Without the network it says NOT LIVE, and shows no old figure.',
    asks: 'It can be put among the apps. Opened there without the network it says NOT LIVE, and shows no old figure.',
    'by-menu':
      'The browser’s menu puts it among the apps. Opened there without the network it says NOT LIVE, and shows no old figure.',
  },
  installAsk: 'Put it among the apps',
  brightness: 'Brightness',
  unit: 'Degrees',
  unitNote: 'Only what is shown here changes; the record stays in °C.',
  clock: 'Times',
  zone: (zone: string, now: string) =>
    `All times are those of the kiln’s computer: ${now} now, ${zone}. A past firing keeps the times of its own day.`,
  name: 'Who presses here',
};

/** Where a large word may be parted into lines: after a full stop. */
export const CLAUSE_END = /(?<=\.) /;

export const door = {
  title: (kiln: string) => `Sign at ${kiln}`,
  word: {
    firing: 'Firing. Do not open',
    propped: 'Firing. Leave it propped',
    'open-hot': 'Open while hot: close it gently',
    hot: 'Do not open',
    crack: 'May be cracked',
    unload: 'Safe to unload',
    unknown: 'Do not open: no reading',
  } satisfies Record<SignWord, string>,
  until: { shut: 'until about', unload: 'unload about' },
  notYet: 'until when cannot be said yet',
  notLive: 'NOT LIVE. Do not open',
  silent: 'No reading. Do not open',
  ask: 'ask whoever keeps the watch',
  noKiln: (id: string) => `There is no kiln “${id}” here. See the page for the kilns there are.`,
  waiting: 'Asking',
};

/** Where the page or the sign is opened and the kiln's computer does not answer; see `not-live-page.ts`. */
export const away = {
  title: 'NOT LIVE',
  lines: [
    'The kiln’s computer does not answer this screen. Go and look at the kiln.',
    'No temperature stands here, since it would be an old one, and no bell rings from here.',
  ],
  looked: 'It tries again by itself. Last tried at',
};

export const awayDoor = {
  title: 'NOT LIVE. Do not open',
  lines: ['Ask whoever keeps the watch. The kiln’s computer does not answer this sign.'],
};

export const acts = {
  title: 'Hand and eye',
  hand: 'The hand',
  eye: 'The eye',
  lately: 'Logged last',
  correct: 'Correct',
  correcting: (what: string, time: string) => `Correct what was logged at ${time}: ${what}`,
  correctNote: 'Both stand in the record: what was logged, and what was right.',
  notDone: 'It was not done',
  corrected: (what: string) => `first logged as ${what}`,
  correctedSaid: (what: string, time: string) => `Set right: ${what} at ${time}.`,
  struckSaid: (time: string) => `Set right: nothing was done at ${time}.`,
  lastTime: (date: string) => `Last time, ${date}`,
  lastTimeNext: (what: string, at: string | null) => (at === null ? what : `${what} at ${at}`),
  lastTimeWord: 'Last time',
  lastTimeAll: (n: number) => (n === 1 ? 'The one act' : `All ${n} acts`),
  lastTimePeak: (peak: string) => `It came to ${peak}.`,
  watcher: (name: string, since: string) => `Watch kept by ${name} since ${since}`,
  noWatcher: 'Nobody is named as keeping watch.',
  handOver: 'Hand the watch over',
  handTo: 'To whom',
  handDone: 'They have it',
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

/** The labels of the hand's and the eye's buttons, and what their values are called. */
export const actLabels = {
  valve: 'Valve',
  'gas pressure': 'Gas pressure',
  damper: 'Damper',
  flame: 'Flame',
  heat: 'Heat',
  bung: 'Bung',
  vent: 'Vent',
  lid: 'Lid',
  door: 'Door',
  'smoke stopped': 'Smoke stopped',
  'gloss seen': 'Gloss seen',
  'cone down': 'Cone down',
  'trial drawn': 'Trial drawn',
  'hand pyrometer': 'Hand pyrometer',
  'flame colour': 'Flame colour',
} as const;

export const theme = {
  dark: 'Dark',
  light: 'Light',
};

export const setup = {
  title: 'Kilns',
  first: 'No kiln is set up yet. Plug its instrument in; three steps lead from there to the first reading.',
  newKiln: 'Set up a kiln',
  elsewhere: 'A kiln is set up at the computer that it is plugged into. From here you can watch.',
  steps: { place: 'Where its instrument speaks', heard: 'What it says', kiln: 'The kiln' },
  places: {
    port: 'plugged in here',
    mqtt: 'An MQTT broker',
    mqttNote: 'a board in the network publishes to it',
    tcp: 'A box in the network that prints lines',
    tcpNote: 'serial-to-network',
    modbus: 'A controller on Modbus, in the network',
    modbusNote: 'by its address, or behind a gateway',
  },
  noPorts: 'No serial port is plugged in. One that is pushed in now appears here by itself.',
  usedBy: (kiln: string) => `${kiln} listens there`,
  sharedWith: (kiln: string) => `${kiln} is read there over Modbus; others may share the line`,
  change: 'Change',
  remove: 'Remove',
  changeInFiring:
    'It is being fired: a new plug counts at once, a sensor’s new name once the firing is over; what its figures mean can be changed then.',
  removeInFiring: 'It is being fired: it can be removed once that is over.',
  renamedLater: (now: string, later: string) => `“${now}” will be called “${later}” once this firing is over`,
  changeWhat: (kiln: string) => `Change ${kiln}`,
  saveChange: 'Write it down',
  leaveIt: 'Leave it as it is',
  changeKeeps: (file: string) => `The file as it was is kept as ${file}.`,
  nameless: 'Each kiln and each sensor has a name.',
  removeWhat: (kiln: string) => `Take ${kiln} out of the watch?`,
  removeKeeps: (file: string) => `Its firings and their records stay. The file as it was is kept as ${file}.`,
  removeIt: 'Take it out',
  keepIt: 'Keep it',
  pluggedInAt: 'Plugged in at',
  notPluggedIn: 'nothing is there now',
  placeOf: (number: number, count: number) => `Where its instrument ${number} of ${count} speaks`,
  spotColumn: 'In each line it is',
  columnOf: (column: string, count: number) => `column ${column} of ${count}`,
  spotName: 'In each line it stands behind',
  topic: 'Topic',
  topicPath: 'Its place in the JSON (empty: none)',
  registerNumber: 'Register',
  table: 'Table',
  tables: { holding: 'holding (function 3)', input: 'input (function 4)' },
  addressMissing: 'Write first where it is.',
  registerUnclear:
    'The number of the instrument on the line is a whole number, mostly from 1 to 247, and a register one from 0 to 65535.',
  spotUnclear:
    'Say where its figure stands: the instrument’s number on the line is mostly from 1 to 247, a register from 0 to 65535.',
  meaning: 'Its figures count',
  units: { C: '°C', F: '°F', K: 'K (kelvin)', mV: 'mV of the couple' },
  registerType: 'Register holds',
  order: 'Order of its bytes',
  scale: 'Times',
  correction: 'Correction, °C (added; empty: none)',
  correctionAt: 'known at, °C',
  correctionWithin: 'sure to ±, °C',
  correctionUnclear:
    'A correction is three numbers: what is added, at what temperature that is known, and how sure it is.',
  certificate: 'Corrected by a certificate, which stands in the file.',
  speaks: 'It speaks',
  speech: { lines: 'lines of text', modbus: 'Modbus' },
  baud: 'Baud',
  parity: 'Parity',
  parities: { none: 'none', even: 'even', odd: 'odd' },
  address: 'Address and port',
  url: 'Address of the broker',
  version: 'MQTT',
  username: 'User name, if it asks for one',
  password: 'Password',
  caFile: 'Certificate of its authority (a file)',
  unit: 'Number of the instrument on the line',
  register: 'First register to look at',
  listen: 'Listen',
  quiet: 'Nothing has come yet. An instrument may speak each second, or each two minutes.',
  garbled: 'If what comes is garbled, try another baud.',
  asItComes: 'As it comes',
  pickOne: 'Tap what your kiln shows. A cold kiln is like the room.',
  nothingLike: 'No figure has come that a kiln could show.',
  column: { where: 'Where', came: 'Came as', may: 'May be' },
  others: (count: number) => `${count} more ways`,
  counts: 'counts up: a clock or a running number',
  noKiln: 'no kiln shows this',
  volts: (letter: string) => `in mV, type ${letter}`,
  terminals:
    'A figure in mV is reckoned with the instrument’s terminals at 22 °C; the file says so, and can be mended.',
  sensor: 'Name of the sensor',
  letter: 'Couple',
  couple: (letter: string) => `type ${letter}`,
  name: 'Name of the kiln',
  heat: 'Heated by',
  heats: { gas: 'gas', electric: 'electricity' },
  closure: 'Opens with',
  closures: { lid: 'a lid (top)', door: 'a door (front)' },
  save: 'Write it down and watch it',
  still: { pick: 'Tap a figure first.', kiln: 'Say how it is heated, and how it opens.' },
  writtenTo: (file: string) => `It is written to ${file}; whatever stands there already stays.`,
  newName: (count: number) => (count === 0 ? 'Kiln' : `Kiln ${count + 1}`),
  newSensor: (count: number) => (count === 0 ? 'couple' : `couple ${count + 1}`),
};

export const begin = {
  title: 'Begin and end',
  steps: {
    kiln: 'The kiln',
    sensors: 'Its couples, cold',
    list: 'Before lighting',
    plan: 'The plan',
    hands: 'The hands it needs',
    bell: 'The bell',
  },
  roomC: 'The room’s thermometer',
  couplesSaid: { yes: 'agrees', no: 'look', unsaid: 'not known' },
  listNote: 'Your own list: tick, add, take out. It is filed with the firing and comes back for the next one.',
  addLine: 'Add a line',
  add: 'Add',
  takeOut: 'Take out',
  handsBy: {
    plan: 'By the plan alone, if it is lit now; they move as the kiln does. What depends on its fall is told once it falls.',
    kiln: 'By this kiln’s own ways, if it is lit now; they move as it does.',
  },
  handsNone: 'Choose a plan: the minutes in which somebody must be at the kiln will stand here.',
  handsLater: 'once it falls',
  callAt: (time: string) => `called at ${time}`,
  bellNote:
    'You will be called by this bell. Try it before you light: a muted tablet is found out at 600 °C otherwise.',
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
  filedList: (by: string, time: string) => `Before lighting, filed by ${by} at ${time}`,
  ticked: 'done',
  left: 'left',
  checked: 'checked',
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

export const charts = {
  missing: 'The part of this page that draws the curve did not come. Load the page again.',
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
  if (speed === 1) return 'SIMULATED kiln';
  return `SIMULATED kiln, clock runs ${Math.round(speed * 10) / 10} times as fast`;
}
