/** Every sentence of an alert that the person reads or hears, in one place. Gas and electric kilns ask for different acts. */
import type { AlertKind } from '../events.ts';
import { perMinute } from '../numbers/units.ts';

export type Heat = 'gas' | 'electric';
export type Closure = 'lid' | 'door';

const whole = (celsius: number): string => String(Math.round(celsius));
const minutes = (seconds: number): string => {
  const m = Math.max(Math.round(seconds / 60), 1);
  return m === 1 ? 'a minute' : `${m} minutes`;
};
const inMinutes = (seconds: number): string => (seconds < 75 ? 'within a minute' : `in ${minutes(seconds)}`);

export const wording = {
  overshootForeseen: (heat: Heat, nowC: number, headingC: number, at: string): string =>
    heat === 'gas'
      ? `Turn down now: ${whole(nowC)}, heading for ${whole(headingC)} about ${at}. Gas first, damper after.`
      : `Heading for ${whole(headingC)} about ${at}, now ${whole(nowC)}. If the controller isn't backing off, switch off at the wall.`,
  overshootHappening: (heat: Heat, nowC: number, limitC: number): string =>
    heat === 'gas'
      ? `Too hot: ${whole(nowC)}, the plan allows ${whole(limitC)}. Gas down now, damper after.`
      : `Too hot: ${whole(nowC)}, the plan allows ${whole(limitC)}. Switch off at the wall.`,
  overshootBecause: (nowC: number, rateCPerH: number, limitC: number, leadS: number): string =>
    `${nowC.toFixed(1)} °C, ${changing(rateCPerH)}; ${whole(limitC)} is passed ${inMinutes(leadS)}. If nothing is done the colour may burn out or the glass soften.`,
  overshootIsBecause: (nowC: number, limitC: number, rateCPerH: number): string =>
    `${nowC.toFixed(1)} °C is above the ${whole(limitC)} that the plan allows, ${changing(rateCPerH)}. Ten degrees too much can spoil a colour.`,

  stallForeseen: (heat: Heat, nowC: number, rateCPerH: number): string =>
    heat === 'gas'
      ? `The climb is dying away: ${whole(nowC)}, ${pace(rateCPerH)}. Look at the flame and the bottle. Frosted or empty? Never warm it with a flame.`
      : `The climb is dying away: ${whole(nowC)}, ${pace(rateCPerH)}. An element, or low mains: look at the kiln.`,
  stallHappening: (heat: Heat, nowC: number, goalC: number): string =>
    heat === 'gas'
      ? `Not climbing: ${whole(nowC)}, the plan wants ${whole(goalC)}. Look at the flame and the bottle. Never warm a bottle with a flame.`
      : `Not climbing: ${whole(nowC)}, the plan wants ${whole(goalC)}. Look at fuse, elements and controller.`,
  stallBecause: (rateCPerH: number, wantedCPerH: number, beforeCPerH: number | null): string =>
    `${capital(changing(rateCPerH))} where the plan wants ${whole(wantedCPerH)} °C an hour${beforeCPerH === null ? '' : `; ten minutes ago it made ${whole(beforeCPerH)}`}. Slow time below 500 °C harms nothing, above 560 °C it does.`,

  lidOpen: (closure: Closure, nowC: number, until: string | null): string =>
    `The ${closure} is open at ${whole(nowC)}. Close it gently${until === null ? '' : `; open it not before ${until}`}.`,
  lidSeemsOpen: (heat: Heat, closure: Closure, fallC: number, beforeC: number, isHeated: boolean): string =>
    `Fell ${whole(fallC)} at once from ${whole(beforeC)}: the ${closure} seems open. Close it gently.${isHeated && heat === 'gas' ? ' If it is shut, the flame may be out: gas off, no sparks.' : ''}`,
  lidBecause: (closure: Closure, nowC: number, limitC: number, bySwitch: boolean): string =>
    `${bySwitch ? `The switch says open, at ${whole(nowC)} °C` : `No switch says so; the readings fell faster than a shut kiln can, now ${whole(nowC)} °C`}. Above ${whole(limitC)} °C cold air on the glass can crack it, and the ${closure} is hot.`,

  silence: (seconds: number, sensorWord: string): string =>
    `No reading${sensorWord} for ${whole(seconds)} seconds. Assume it's still heating; go to it with the hand pyrometer.`,
  silenceCooling: (seconds: number, sensorWord: string): string =>
    `No reading${sensorWord} for ${whole(seconds)} seconds. Look at plug and cable; keep the kiln shut meanwhile.`,
  silenceBecause: (lastC: number | null, at: string | null, why: string | null): string =>
    `${lastC === null ? 'It has not been heard at all' : `The last was ${whole(lastC)} °C at ${at}`}. ${why ?? 'Nothing has come from the instrument since.'} Without readings nobody warns you.`,

  overshootAverted: (headingC: number | undefined): string =>
    headingC === undefined ? 'Averted: it was getting too hot.' : `Averted: it was heading for ${whole(headingC)}.`,
  overshootWas: (lastedS: number): string => `It was too hot, for ${minutes(lastedS)}.`,
  stallPassed: 'It climbs again; it was dying away.',
  stallWas: (lastedS: number): string => `It was not climbing, for ${minutes(lastedS)}.`,
  lidWas: (lastedS: number): string =>
    `It was open while hot, for ${minutes(lastedS)}. Look at the pieces when they are cold.`,
  silenceWas: (lastedS: number): string => `No reading came, for ${minutes(lastedS)}. It speaks again.`,
  recordWas: (lastedS: number): string => `The record was not written, for ${minutes(lastedS)}. It is again.`,

  itWas: (better: AlertKind, worse: AlertKind, heat: Heat, closure: Closure): string =>
    `It was ${culprit(better, heat, closure)}, not ${culprit(worse, heat, closure)}.`,
  switchedOff: (by: string, why: string): string => `Switched off for this firing by ${by}: ${why}`,

  recordTrouble: (sentence: string): string => `The record is not being written: ${sentence} The watch goes on.`,
  recordBecause: 'What is read now is shown but not kept; the hole will be marked in the record.',
};

/** What an alert takes to be at work, as a thing: "the lid", "the flame". */
function culprit(kind: AlertKind, heat: Heat, closure: Closure): string {
  switch (kind) {
    case 'overshoot':
      return 'too much heat';
    case 'stalled-ramp':
      return heat === 'gas' ? 'the bottle' : 'an element';
    case 'running-late':
      return 'a slow climb';
    case 'heating-too-fast':
      return 'a climb too fast';
    case 'cooling-too-fast':
      return 'a fall too fast';
    case 'lid-open-hot':
      return `the ${closure}`;
    case 'heat-lost':
      return heat === 'gas' ? 'the flame' : 'the power';
    case 'uncontrolled-heat':
      return heat === 'gas' ? 'a valve left open' : 'a relay stuck on';
    case 'hold-short':
      return 'too short a hold';
    case 'hold-long':
      return 'too long a hold';
    case 'sensor-fault':
      return 'the couple';
    case 'sensors-disagree':
      return 'one couple against the other';
    case 'silence':
      return 'a lost line';
    case 'clock-trouble':
      return 'the clock';
    case 'record-trouble':
      return 'the disk';
  }
}

/** "climbing 120 °C an hour" */
export function changing(rateCPerH: number): string {
  if (Math.abs(rateCPerH) < 6) return 'hardly moving';
  return `${rateCPerH > 0 ? 'climbing' : 'falling'} ${whole(Math.abs(rateCPerH))} °C an hour`;
}

function pace(rateCPerH: number): string {
  return Math.abs(rateCPerH) < 60
    ? `${whole(Math.max(rateCPerH, 0))} an hour`
    : `${perMinute(rateCPerH).toFixed(1)} a minute`;
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
