/** Every sentence of an alert that the person reads or hears, in one place. Gas and electric kilns ask for different acts. */
import type { AlertKind } from '../events.ts';
import { perMinute } from '../numbers/units.ts';
import type { FaultCause } from '../thermometry/health/detector.ts';
import type { ClockTrouble } from '../tracking/stamp-watch.ts';

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

  heatLost: (heat: Heat, nowC: number, mayBeDoor: boolean): string =>
    heat === 'gas'
      ? `Losing heat as if the flame is out${mayBeDoor ? ' or the door open' : ''}, at ${whole(nowC)}. Gas off at the bottle, damper open, no flame or sparks. Relight only after airing it, as your installer taught you.`
      : `No heat at ${whole(nowC)}: power, fuse or element. Keep it shut; the controller may restart its programme when power returns.`,
  heatLostBecause: (fromC: number, nowC: number, perMin: number, sinceS: number): string =>
    `It fell from ${whole(fromC)} to ${whole(nowC)} °C within ${whole(sinceS)} seconds, now ${Math.abs(perMin).toFixed(1)} a minute, where the plan wants heat. No hand at the valve or controller does that.`,
  heatLostWas: (lastedS: number): string => `It had no heat, for ${minutes(lastedS)}.`,

  heatStuck: (heat: Heat, nowC: number, when: 'hold' | 'climb' | 'fall'): string => {
    if (heat === 'gas')
      return `Still heating at ${whole(nowC)}, though the gas should be off. Gas off at the bottle, damper after.`;
    const words = { hold: 'Stuck on', climb: 'Running away from its plan', fall: 'Still heating' };
    return `${words[when]} at ${whole(nowC)}. Off at the wall.`;
  },
  heatStuckBecause: (fromC: number, nowC: number, perMin: number, isClimb: boolean): string =>
    `It rises ${perMin.toFixed(1)} a minute, from ${whole(fromC)} to ${whole(nowC)} °C, ${isClimb ? 'faster than the plan, which it had kept. A controller that holds it' : 'where the plan wants no more heat. A kiln left to itself'} does not. If nothing is done it runs on until the glass melts.`,
  heatStuckWas: (lastedS: number): string => `It was heating by itself, for ${minutes(lastedS)}.`,

  holdLong: (heat: Heat, sinceS: number): string =>
    heat === 'gas'
      ? `The hold ended ${minutes(sinceS)} ago and it's still hot. Gas off.`
      : `The hold ended ${minutes(sinceS)} ago. Still heating. Off at the wall.`,
  holdLongBecause: (nowC: number, heldC: number, rateCPerH: number): string =>
    `${whole(nowC)} °C, the hold was at ${whole(heldC)}, ${changing(rateCPerH)}. Five minutes too much spoil a colour.`,
  holdEnded: 'It falls now; the hold had become long.',
  holdLongWas: (lastedS: number): string => `The hold was too long, by ${minutes(lastedS + 300)}.`,

  holdShort: (heat: Heat, nowC: number, goalC: number, doneS: number, plannedS: number): string =>
    `Leaving the hold: ${whole(nowC)} where ${whole(goalC)} is wanted, ${whole(doneS / 60)} of ${whole(plannedS / 60)} minutes done. ${heat === 'gas' ? 'Is the flame as you left it?' : 'Is the controller still in its hold?'} If you saw the gloss, all is well.`,
  holdShortBecause: (nowC: number, goalC: number, rateCPerH: number | null): string =>
    `${nowC.toFixed(1)} °C, ${whole(goalC - nowC)} below the hold${rateCPerH === null ? '' : `, ${changing(rateCPerH)}`}. Too short a hold leaves the paint matt; time a little under the peak still works on it.`,
  holdKept: 'It is back in its hold.',
  holdWasShort: 'The hold was cut short.',

  heatingTooFast: (heat: Heat, nowC: number, perMin: number): string =>
    `${perMin.toFixed(perMin < 9.5 ? 1 : 0)} a minute at ${whole(nowC)}: ${nowC < 450 ? 'the oil will boil.' : 'too fast for paint and glass.'} ${heat === 'gas' ? (nowC < 450 ? 'Pilot only, vent open.' : 'Turn down.') : nowC < 450 ? 'Slow it, vent open.' : 'Slow it.'}`,
  heatingBecause: (rateCPerH: number, limitCPerH: number, why: string | null): string =>
    `Climbing ${whole(rateCPerH)} °C an hour where ${whole(limitCPerH)} is the most${why === null ? ' that the plan has in mind' : `: ${why}`}.`,
  heatingWas: (lastedS: number): string => `It climbed too fast, for ${minutes(lastedS)}.`,

  coolingTooFast: (heat: Heat, closure: Closure, nowC: number, perMin: number, isGuided: boolean): string =>
    heat === 'gas'
      ? `Falling ${perMin.toFixed(1)} a minute at ${whole(nowC)}. Once the gas is off: damper and ports shut, spyhole plugged.`
      : `Falling ${perMin.toFixed(1)} a minute at ${whole(nowC)}. Close ${closure} and peephole.${isGuided ? " Look whether it has power and runs the plan's programme." : ''}`,
  coolingBecause: (rateCPerH: number, limitCPerH: number | null, why: string | null): string =>
    `Falling ${whole(rateCPerH)} °C an hour${limitCPerH === null ? ', much faster than it fell a moment ago' : ` where ${whole(limitCPerH)} is the most`}${why === null ? '' : `: ${why}`}. What cools too fast here keeps stress, or cracks.`,
  coolingWas: (lastedS: number): string => `It cooled too fast, for ${minutes(lastedS)}.`,

  late: (lateMin: number, atEndMin: number, nowC: number, isHot: boolean): string =>
    `${whole(lateMin)} minutes late at ${whole(nowC)}${Number.isFinite(atEndMin) && atEndMin < 300 ? `, at this pace ${whole(atEndMin)} at the top` : ''}. ${isHot ? 'Slow time up here works on the paint: more heat, or a shorter hold.' : 'That harms nothing yet.'}`,
  lateBecause: (rateCPerH: number, wantedCPerH: number): string =>
    `${capital(changing(rateCPerH))} where the plan wants ${whole(wantedCPerH)}. Late below 500 °C harms nothing; slow time above 560 °C works as heat does.`,
  lateNoMore: 'It is no longer behind by much.',

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

  sensorFault: (heat: Heat, cause: FaultCause, sensor: string): string => {
    const look =
      heat === 'gas'
        ? 'Look for gloss, eyes protected, or with the hand pyrometer; turn down if in doubt.'
        : "Look for gloss, eyes protected, or with the hand pyrometer; switch off if you can't see.";
    switch (cause) {
      case 'open-circuit':
        return `The couple of ${sensor} is broken or loose. Assume it's still heating. ${look}`;
      case 'reversed':
        return `${sensor} shows less the hotter it gets: its two leads are swapped. Change them over; till then nobody knows how hot it is. Look at the plug.`;
      case 'frozen':
        return `${sensor} says the same figure again and again. It may be hotter than it says. ${look}`;
      case 'jump':
        return `${sensor} jumped to another figure, as no kiln does. Look at plug and leads. ${look}`;
      case 'out-of-range':
        return `${sensor} shows what no such couple can. Assume it's still heating. ${look}`;
      case 'drift':
        return `${sensor} drifts away from the others. ${look}`;
      case 'slipped':
        return heat === 'gas'
          ? `The reading of ${sensor} fell but heat is going in: the couple may have slipped. It may be hotter than it says. Turn down; look for gloss, eyes protected.`
          : `The reading of ${sensor} fell but heat is going in: the couple may have slipped. It may be hotter than it says. Look for gloss, eyes protected; switch off if you can't see.`;
      case 'sentinel':
        return `The instrument has no value of ${sensor}. Assume it's still heating. ${look}`;
      case 'cold-junction':
        return `The terminals of ${sensor} grew warm or cold: its figure is off. Look at draught and heat round the instrument. ${look}`;
    }
  },
  otherSensorFault: (cause: FaultCause, sensor: string): string =>
    `${sensor}, which does not rule the plan, ${OTHER_SENSOR[cause]}. Look at its couple and plug; the plan goes by the other.`,
  sensorBecause: (sentence: string, lastC: number | null, other: string | null, otherC: number | null): string =>
    `${sentence}${lastC === null ? '' : ` The last to be believed was ${whole(lastC)} °C.`}${other === null || otherC === null ? '' : ` ${other} says ${whole(otherC)} °C meanwhile.`}`,
  leftOthers: (sensor: string, other: string, byC: number): string =>
    `${sensor} went ${whole(Math.abs(byC))} °C ${byC < 0 ? 'down' : 'up'} within minutes, away from ${other}, which went on as it came: no door and no flame does that to one of them.`,
  drifted: (sensor: string, other: string, byC: number, forS: number): string =>
    `In ${minutes(forS)} ${sensor} came to show ${whole(Math.abs(byC))} °C less than it did against ${other}, little by little, and ${other} goes on as it came.`,
  disagree: (heat: Heat, ruling: string, other: string, byC: number, isWider: boolean): string =>
    `${ruling} and ${other} ${isWider ? 'part' : 'come together'}: ${whole(Math.abs(byC))} °C ${isWider ? 'more' : 'less'} between them than before. One couple drifts or slips, or ${heat === 'gas' ? 'the flame' : 'an element'} has changed. Look at both; go by the gloss, eyes protected.`,
  disagreeBecause: (ruling: string, other: string, byC: number, forS: number): string =>
    `In ${minutes(forS)} ${other} went ${whole(Math.abs(byC))} °C ${byC < 0 ? 'down' : 'up'} against ${ruling}, little by little, while heat goes in. The plan goes by ${ruling}; nobody knows which of them is right.`,
  disagreeWas: 'The couples are as far apart as before.',
  sensorWas: (lastedS: number): string => `It could not be believed, for ${minutes(lastedS)}.`,

  clockTrouble: (kind: ClockTrouble['kind'], byS: number): string => {
    switch (kind) {
      case 'stands':
        return "The instrument's clock stands. Look at it, and go by your own watch meanwhile.";
      case 'back':
        return `The instrument's clock went back by ${minutes(-byS)}. Look at it, and go by your own watch meanwhile.`;
      case 'ahead':
        return `The instrument's clock leapt ${minutes(byS)} ahead. Look at it, and go by your own watch meanwhile.`;
      case 'set':
        return `The computer's clock was set ${byS < 0 ? 'back' : 'on'} by ${minutes(Math.abs(byS))}. Look at the time on the page; holds go on by their own count.`;
    }
  },
  clockBecause: (kind: ClockTrouble['kind']): string =>
    kind === 'ahead'
      ? 'The stamps leapt while the temperature did not: no such pause has been. Holds and lateness reckoned over it are wrong.'
      : kind === 'set'
        ? 'Durations are counted by a clock that never steps; only the times of day look odd.'
        : 'Readings come with stamps that are not newer than those before. Paces and holds cannot be reckoned from them.',
  boardClock: (offS: number): string =>
    `The board's clock is ${minutes(Math.abs(offS))} ${offS > 0 ? 'slow' : 'fast'}. The kiln is watched by when its readings come; set that clock, or leave timePath out of the configuration.`,
  boardClockBecause: (offS: number): string =>
    offS > 0
      ? 'All that comes is equally old by its own time: the clock is off, or the network always takes so long, and then what is shown is as old.'
      : 'What comes tells of times that are still to be.',
  clockWas: 'The stamps make sense again.',

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

/** What ails a couple that does not rule. */
const OTHER_SENSOR: Readonly<Record<FaultCause, string>> = {
  'open-circuit': 'is broken or loose',
  reversed: 'has its two leads swapped',
  frozen: 'says the same figure again and again',
  jump: 'jumped to another figure, as no kiln does',
  'out-of-range': 'shows what no such couple can',
  drift: 'drifts away from the others',
  slipped: 'fell alone, as if it had slipped',
  sentinel: 'has no value, says the instrument',
  'cold-junction': 'is off by what its terminals are warmer or colder',
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
