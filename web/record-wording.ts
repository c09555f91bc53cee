/** What the pages of past firings say, beyond what `wording.ts` has for all pages. */
import { PHOTO_RIGHT } from '../daemon/wire/photo-limits.ts';

export const search = {
  label: 'Find a firing',
  text: 'Words',
  narrower: 'By kiln, schedule, alert or day',
  textHint: 'a note, a name, an act',
  kiln: 'Kiln',
  schedule: 'Schedule',
  alert: 'Alert',
  from: 'From',
  to: 'To',
  any: 'any',
  none: 'No firing fits.',
  more: (most: number) => `Only the newest ${most} are shown.`,
  choose: (name: string) => `Compare ${name}`,
  compare: 'Compare those that are ticked',
  compareHint: 'Tick two to six firings to lay their curves over each other.',
  proof: 'Proof: key, seals, verdict',
};

export const past = {
  figures: 'Figures',
  corrected: (was: string, why: string, by: string) => `first written as ${was}; set right by ${by}: ${why}`,
  correct: 'Set right',
  is: 'What it should say',
  why: 'Why',
  signOffs: 'Signed off',
  signedOff: (meaning: string, by: string) => `${meaning} (${by})`,
  sign: 'Sign off this record',
  meaning: 'What you sign for',
  signButton: 'Sign',
  takeAway: 'To take away',
  report: 'Report for the file (PDF)',
  readings: 'Readings (CSV)',
  everything: 'Everything with a checker (zip)',
  proof: 'Proof',
  compare: 'Lay another firing beside it',
};

export const photo = {
  choose: 'A photograph, JPEG or PNG',
  note: 'What it shows',
  file: 'File the photograph',
  filing: 'Filing …',
  wrong: `This is no such picture; right: ${PHOTO_RIGHT}.`,
  of: (text: string) => (text === '' ? 'Photograph without a word' : `Photograph: ${text}`),
};

export const compare = {
  title: 'Firings compared',
  chart: 'The curves of the chosen firings over each other',
  align: 'Laid over each other by',
  start: 'the start',
  peak: 'the peak',
  temperature: 'a temperature of the climb',
  at: (value: string) => `Climbing through ${value}`,
  tooFew: 'Choose two to six firings on the page Firings.',
  never: (name: string) => `${name} never climbed through it.`,
  reach: 'How much of the curves',
  whole: 'Whole firings',
  near: 'An hour to each side',
  figures: 'Side by side',
};

export const proof = {
  title: 'Proof',
  lead: 'Each firing is written line by line, each line with the hash of the one before, and sealed every ten minutes with this workshop’s key.',
  key: 'Key',
  noKey: 'none yet: it is made when the first firing is recorded',
  unsigned: (isOn: boolean) => (isOn ? 'its first seal is not set yet' : 'none: nobody has signed for it'),
  giveAway:
    'Give this fingerprint away before there is a quarrel: by letter, by mail, on a report. Whoever has it can tell your records from any that were written anew.',
  ledger: 'Ledger',
  firings: 'Firings',
  broken: 'Found broken at the start of the watch',
  verdict: 'Verdict',
  lines: 'Lines',
  seal: 'Seal',
  seals: 'Seals',
  signed: 'Signed last',
  line: 'At line',
  authority: 'Time authority',
  checkStamp: (seal: number) =>
    `Checked with: openssl ts -verify -data stamps/${seal}.txt -in stamps/${seal}.tsr -CAfile (the authority’s own certificate); both files come with the export.`,
  command: 'To check it without this page: spyhole verify, or the checker that comes with each export.',
  ofFiring: (name: string) => `Proof of ${name}`,
  backToFiring: 'Back to this firing',
  ofAll: 'Proof of all records here',
};
