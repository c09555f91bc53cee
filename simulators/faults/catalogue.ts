/**
 * Everything that can go wrong in a simulated firing, by name: what it does, when it usually begins, and which kind of
 * alert it should bring. Each kind comes about in at least three ways, and has a harmless twin that looks like it and
 * should bring nothing. Figures without a source are from memory; scenarios change them.
 */
import type { AlertKind } from '../../daemon/core/events.ts';
import type { OperatorSpec } from '../operator.ts';
import type { CoupleSpec } from '../thermocouple.ts';
import type { Effect } from './effect.ts';
import type { Moment } from './moment.ts';

export interface NamedFault {
  /** The alert it should bring; null where it is harmless. */
  readonly brings: AlertKind | null;
  /** Of a harmless one: the alert that it must not bring. */
  readonly looksLike?: AlertKind;
  readonly what: string;
  /** Only in kilns of this heat. */
  readonly heat?: 'gas' | 'electric';
  readonly effects: readonly Effect[];
  /** What the painter does otherwise, where the fault is the hand's own. */
  readonly hand?: Partial<OperatorSpec>;
  /** It is there from the beginning: another kiln, another controller. Changes of the plant's figures. */
  readonly plant?: object;
  /** How the ruling couple is otherwise than usual. */
  readonly couple?: Partial<CoupleSpec>;
  readonly when: Moment;
  /** How long; without it to the end, or until the painter mends it. */
  readonly forS?: number;
}

const HOUR_S = 3600;
type Faults = Readonly<Record<string, NamedFault>>;

const overshoot: Faults = {
  'the hand comes late': {
    brings: 'overshoot',
    what: 'The painter is away when the gas should be turned down.',
    heat: 'gas',
    effects: [],
    hand: { late: { goesBeforeC: 25, minutes: 20, opensBy: 0.5 } },
    when: { afterS: 0 },
  },
  'the controller winds up': {
    brings: 'overshoot',
    what: 'The controller goes on adding up while it cannot follow, and runs over the top.',
    heat: 'electric',
    effects: [{ on: 'nature' }],
    plant: { controller: { windUp: 'free', integralS: 240 } },
    when: { belowTopC: 10 },
  },
  'the regulator creeps up': {
    brings: 'overshoot',
    what: 'The gas pressure grows at the same mark.',
    heat: 'gas',
    effects: [{ on: 'kiln', mishap: { kind: 'bottle', ratio: 1.7 }, overS: 600 }],
    hand: { late: { goesBeforeC: 40, minutes: 25, opensBy: 0 } },
    when: { belowTopC: 35 },
  },
  "the controller's couple slips": {
    brings: 'overshoot',
    what: 'The couple of the controller has slid half out of the chamber, so it goes on heating.',
    heat: 'electric',
    effects: [{ on: 'kiln', mishap: { kind: 'controller-couple', state: { is: 'slipped', outRatio: 0.12 } } }],
    when: { belowTopC: 60 },
  },
  'turned down in time though late': {
    brings: null,
    looksLike: 'overshoot',
    what: 'The painter is slow and still turns down in time.',
    heat: 'gas',
    effects: [],
    hand: { turnsDownBeforeC: 3, standsEveryS: 90 },
    when: { afterS: 0 },
  },
  'a noisy hour': {
    brings: null,
    looksLike: 'overshoot',
    what: 'A fan or a welder nearby makes every reading scatter.',
    effects: [{ on: 'couple', fault: { kind: 'noisy', noiseC: 2.5 } }],
    when: { belowTopC: 90 },
    forS: HOUR_S,
  },
};

const slowness: Faults = {
  'the bottle frosts': {
    brings: 'stalled-ramp',
    what: 'The bottle cools as it gives gas, and gives ever less.',
    heat: 'gas',
    effects: [{ on: 'kiln', mishap: { kind: 'bottle', ratio: 0.45 }, overS: 1200 }],
    hand: { leaves: { atC: 470, opensBy: 0.5, minutes: 50 } },
    when: { climbingC: 480 },
  },
  'the jet clogs': {
    brings: 'stalled-ramp',
    what: 'Soot or a spider in the jet: less gas at the same mark.',
    heat: 'gas',
    effects: [{ on: 'kiln', mishap: { kind: 'burner', ratio: 0.6 }, overS: 300 }],
    hand: { leaves: { belowTopC: 150, opensBy: 0, minutes: 50 } },
    when: { belowTopC: 130 },
  },
  'an element breaks': {
    brings: 'stalled-ramp',
    what: 'The lower elements have burnt through.',
    heat: 'electric',
    effects: [{ on: 'kiln', mishap: { kind: 'element', where: 'below', ratio: 0 } }],
    when: { climbingC: 450 },
  },
  'the mains sag': {
    brings: 'stalled-ramp',
    what: 'Low mains: heat falls by the square of the voltage.',
    heat: 'electric',
    effects: [{ on: 'kiln', mishap: { kind: 'mains', voltageRatio: 0.65 }, overS: 60 }],
    when: { climbingC: 480 },
  },
  'the door gasket gives way': {
    brings: 'stalled-ramp',
    what: 'A gap at door or lid draws cold air through.',
    effects: [{ on: 'kiln', mishap: { kind: 'leak', kgPerS: 0.006 } }],
    hand: { leaves: { belowTopC: 170, opensBy: 0, minutes: 50 } },
    when: { belowTopC: 150 },
  },
  'the damper slips open': {
    brings: 'stalled-ramp',
    what: 'The damper falls wide open and draws the heat out.',
    heat: 'gas',
    effects: [{ on: 'kiln', mishap: { kind: 'damper-slips', openRatio: 1 } }],
    hand: { leaves: { belowTopC: 130, opensBy: 0, minutes: 50 } },
    when: { belowTopC: 110 },
  },
  'a leaking gasket': {
    brings: null,
    looksLike: 'stalled-ramp',
    what: 'A small leak that the kiln makes good.',
    effects: [{ on: 'kiln', mishap: { kind: 'leak', kgPerS: 0.0008 } }],
    when: { climbingC: 300 },
  },
  'a timid hand': {
    brings: 'running-late',
    what: 'The painter aims at half of the pace that the plan wants.',
    heat: 'gas',
    effects: [],
    hand: { paceRatio: 0.55 },
    when: { afterS: 0 },
  },
  'aged elements': {
    brings: 'running-late',
    what: 'Elements that have grown thin give half of their heat.',
    heat: 'electric',
    effects: [
      { on: 'kiln', mishap: { kind: 'element', where: 'above', ratio: 0.5 } },
      { on: 'kiln', mishap: { kind: 'element', where: 'below', ratio: 0.5 } },
    ],
    when: { afterS: 0 },
  },
  'a heavy load': {
    brings: 'running-late',
    what: 'Three shelves where there is usually one, and too little heat for them.',
    effects: [{ on: 'nature' }],
    hand: { leaves: { atC: 150, opensBy: 0, minutes: 50 } },
    plant: { chamber: { shelfKg: 45 } },
    when: { afterS: 0 },
  },
  'a cold shelf': {
    brings: null,
    looksLike: 'running-late',
    what: 'A shelf a little heavier than usual: late at first, which harms nothing below 500 °C.',
    effects: [],
    plant: { chamber: { shelfKg: 11 } },
    when: { afterS: 0 },
  },
};

const tooFast: Faults = {
  'the valve is opened too far': {
    brings: 'heating-too-fast',
    what: 'Somebody gives full gas while the medium still smokes.',
    heat: 'gas',
    effects: [{ on: 'somebody', turn: { control: 'valve', mark: 10 }, back: { control: 'valve', mark: 3 } }],
    hand: { leaves: { atC: 150, opensBy: 0, minutes: 50 } },
    when: { climbingC: 160 },
    forS: 900,
  },
  'the relay welds while it is cold': {
    brings: 'heating-too-fast',
    what: 'The relay sticks and heats at full power though the plan is slow.',
    heat: 'electric',
    effects: [{ on: 'kiln', mishap: { kind: 'relay', state: 'welded' } }],
    when: { climbingC: 140 },
    forS: 1200,
  },
  'a hasty hand': {
    brings: 'heating-too-fast',
    what: 'The painter aims at twice the pace of the plan.',
    heat: 'gas',
    effects: [],
    hand: { paceRatio: 2 },
    when: { afterS: 0 },
  },
  'the pressure jumps': {
    brings: 'heating-too-fast',
    what: 'The regulator fails and the flame doubles.',
    heat: 'gas',
    effects: [{ on: 'kiln', mishap: { kind: 'bottle', ratio: 2.4 }, overS: 20 }],
    hand: { leaves: { atC: 180, opensBy: 0, minutes: 50 } },
    when: { climbingC: 190 },
    forS: 1500,
  },
  'two minutes of full gas': {
    brings: null,
    looksLike: 'heating-too-fast',
    what: 'A short burst that the brick swallows.',
    heat: 'gas',
    effects: [{ on: 'somebody', turn: { control: 'valve', mark: 8 }, back: { control: 'valve', mark: 4 } }],
    when: { climbingC: 470 },
    forS: 60,
  },
  'the lid is closed late and all comes up': {
    brings: null,
    looksLike: 'heating-too-fast',
    what: 'The reading comes up fast after a permitted opening, the glass does not.',
    effects: [{ on: 'door', openRatio: 0.05 }],
    when: { climbingC: 330 },
    forS: 45,
  },
  'the damper is left open': {
    brings: 'cooling-too-fast',
    what: 'After gas off the damper stays open and the draught goes through.',
    heat: 'gas',
    effects: [{ on: 'kiln', mishap: { kind: 'damper-slips', openRatio: 1 } }],
    when: { afterHoldS: 90 },
    forS: 2400,
  },
  'the spyhole is left open': {
    brings: 'cooling-too-fast',
    what: 'Bung out and vents open while the glass goes through its annealing range.',
    effects: [
      { on: 'somebody', turn: { control: 'bung', openRatio: 1 }, back: { control: 'bung', openRatio: 0 } },
      { on: 'kiln', mishap: { kind: 'leak', kgPerS: 0.004 } },
    ],
    when: { fallingC: 505 },
    forS: 1800,
  },
  'the lid stands ajar': {
    brings: 'cooling-too-fast',
    what: 'Lid or door has not closed on its gasket.',
    effects: [{ on: 'door', openRatio: 0.06 }],
    when: { fallingC: 510 },
    forS: 1800,
  },
  'a vent in the cool end': {
    brings: null,
    looksLike: 'cooling-too-fast',
    what: 'The bung is drawn where the plan lets it, below the safe opening.',
    effects: [{ on: 'somebody', turn: { control: 'bung', openRatio: 1 }, back: { control: 'bung', openRatio: 0 } }],
    when: { fallingC: 130 },
    forS: 1200,
  },
};

const openings: Faults = {
  'opened while it cools': {
    brings: 'lid-open-hot',
    what: 'Somebody opens and looks, long before it is safe.',
    effects: [{ on: 'door', openRatio: 0.6 }],
    when: { fallingC: 320 },
    forS: 60,
  },
  'opened in the hold': {
    brings: 'lid-open-hot',
    what: 'A curious visitor at the very top.',
    effects: [{ on: 'door', openRatio: 0.3 }],
    when: { holdingS: 240 },
    forS: 25,
  },
  'not closed after the smoke': {
    brings: 'lid-open-hot',
    what: 'The propped lid is forgotten when the plan wants it closed.',
    effects: [],
    hand: { forgetsDoor: true },
    when: { afterS: 0 },
  },
  'opened a little again and again': {
    brings: 'lid-open-hot',
    what: 'A hand-wide gap for two minutes in the annealing range.',
    effects: [{ on: 'door', openRatio: 0.12 }],
    when: { fallingC: 480 },
    forS: 120,
  },
  'a safe peek': {
    brings: null,
    looksLike: 'lid-open-hot',
    what: 'The bung is drawn for half a minute to see the gloss.',
    effects: [{ on: 'somebody', turn: { control: 'bung', openRatio: 1 }, back: { control: 'bung', openRatio: 0 } }],
    when: { holdingS: 300 },
    forS: 30,
  },
};

const heatGone: Faults = {
  'the wind blows the flame out': {
    brings: 'heat-lost',
    what: 'A gust through the burner port.',
    heat: 'gas',
    effects: [{ on: 'kiln', mishap: { kind: 'flame-out' } }],
    hand: { leaves: { belowTopC: 60, opensBy: 0, minutes: 50 } },
    when: { belowTopC: 45 },
  },
  'the bottle is empty': {
    brings: 'heat-lost',
    what: 'Within a minute no gas comes any more.',
    heat: 'gas',
    effects: [{ on: 'kiln', mishap: { kind: 'bottle', ratio: 0 }, overS: 60 }],
    hand: { leaves: { belowTopC: 120, opensBy: 0, minutes: 50 } },
    when: { belowTopC: 100 },
  },
  'a fuse goes': {
    brings: 'heat-lost',
    what: 'No power until somebody puts in another.',
    heat: 'electric',
    plant: { controller: { afterPowerCut: 'goes-on' } },
    effects: [{ on: 'kiln', mishap: { kind: 'mains', voltageRatio: 0 } }],
    when: { belowTopC: 130 },
  },
  'the relay no longer closes': {
    brings: 'heat-lost',
    what: 'The controller asks for heat and none comes.',
    heat: 'electric',
    effects: [{ on: 'kiln', mishap: { kind: 'relay', state: 'open' } }],
    when: { belowTopC: 90 },
  },
  'a blink of the mains': {
    brings: null,
    looksLike: 'heat-lost',
    what: 'Power fails for twenty seconds, and the controller goes on where it was.',
    heat: 'electric',
    plant: { controller: { afterPowerCut: 'goes-on' } },
    effects: [{ on: 'kiln', mishap: { kind: 'mains', voltageRatio: 0 } }],
    when: { belowTopC: 150 },
    forS: 20,
  },
  'the gas is turned low to let the smoke off': {
    brings: null,
    looksLike: 'heat-lost',
    what: 'Two minutes on the pilot, by somebody who knows why.',
    heat: 'gas',
    effects: [{ on: 'somebody', turn: { control: 'valve', mark: 1 }, back: { control: 'valve', mark: 4 } }],
    when: { climbingC: 300 },
    forS: 90,
  },
};

const heatStuck: Faults = {
  'the relay welds at the top': {
    brings: 'uncontrolled-heat',
    what: 'The relay sticks in the hold: full power though nobody asks for it.',
    heat: 'electric',
    effects: [{ on: 'kiln', mishap: { kind: 'relay', state: 'welded' } }],
    when: { holdingS: 200 },
  },
  'the valve cannot be shut': {
    brings: 'uncontrolled-heat',
    what: 'The knob turns and the valve does not.',
    heat: 'gas',
    effects: [{ on: 'kiln', mishap: { kind: 'valve-stuck', stuck: true } }],
    when: { belowTopC: 15 },
  },
  'the controller heats on without its couple': {
    brings: 'uncontrolled-heat',
    what: 'Its couple breaks and it keeps the heat that it gave.',
    heat: 'electric',
    effects: [{ on: 'kiln', mishap: { kind: 'controller-couple', state: { is: 'broken' } } }],
    plant: { controller: { onBrokenCouple: 'keeps-on' } },
    when: { belowTopC: 30 },
  },
  'the programme begins again': {
    brings: 'uncontrolled-heat',
    what: 'After its end the controller starts its programme anew.',
    heat: 'electric',
    effects: [{ on: 'somebody', turn: { control: 'programme', segment: 0 } }],
    when: { fallingC: 430 },
  },
  'the kiln coasts within its tolerance': {
    brings: null,
    looksLike: 'uncontrolled-heat',
    what: 'Heat in the brick carries it on a little after the gas is down.',
    heat: 'gas',
    effects: [],
    hand: { turnsDownBeforeC: 5 },
    when: { afterS: 0 },
  },
};

const holds: Faults = {
  'the hold is cut short by hand': {
    brings: 'hold-short',
    what: 'The painter turns off far too early.',
    heat: 'gas',
    effects: [],
    hand: { endsHoldEarlyMinutes: 8 },
    when: { afterS: 0 },
  },
  'the programme is skipped on': {
    brings: 'hold-short',
    what: 'Somebody leans on the key that goes to the next segment.',
    heat: 'electric',
    effects: [{ on: 'somebody', turn: { control: 'programme', segment: 99 } }],
    when: { holdingS: 180 },
  },
  'the gas is shut in the hold': {
    brings: 'hold-short',
    what: 'Somebody shuts the bottle in the middle of the hold.',
    heat: 'gas',
    effects: [{ on: 'somebody', turn: { control: 'gas-off' } }],
    hand: { standsEveryS: 3600 },
    when: { holdingS: 240 },
  },
  'power fails in the hold': {
    brings: 'hold-short',
    what: 'Half an hour without power at the very top.',
    heat: 'electric',
    plant: { controller: { afterPowerCut: 'goes-on' } },
    effects: [{ on: 'kiln', mishap: { kind: 'mains', voltageRatio: 0 } }],
    when: { holdingS: 200 },
    forS: 1800,
  },
  'one minute short': {
    brings: null,
    looksLike: 'hold-short',
    what: 'The painter sees gloss and ends the hold a minute early.',
    heat: 'gas',
    effects: [],
    hand: { endsHoldEarlyMinutes: 1 },
    when: { afterS: 0 },
  },
  'nobody turns the gas off': {
    brings: 'hold-long',
    what: 'The hold is over and the gas stays on.',
    heat: 'gas',
    effects: [],
    hand: { forgetsGas: { minutes: 25 } },
    when: { afterS: 0 },
  },
  'the telephone rings at the end of the hold': {
    brings: 'hold-long',
    what: 'The gas goes off twelve minutes late.',
    heat: 'gas',
    effects: [],
    hand: { forgetsGas: { minutes: 12 } },
    when: { afterS: 0 },
  },
  'the programme holds longer than the plan': {
    brings: 'hold-long',
    what: 'Somebody sends the controller back into its hold.',
    heat: 'electric',
    effects: [{ on: 'somebody', turn: { control: 'programme', segment: 2 } }],
    when: { afterHoldS: 30 },
  },
  'the gas goes off a minute late': {
    brings: null,
    looksLike: 'hold-long',
    what: 'One minute: the paint does not mind.',
    heat: 'gas',
    effects: [],
    hand: { forgetsGas: { minutes: 1 } },
    when: { afterS: 0 },
  },
};

const couples: Faults = {
  'the couple breaks': {
    brings: 'sensor-fault',
    what: 'Its wire has parted: no value.',
    effects: [{ on: 'couple', fault: { kind: 'open-circuit', shows: 'nothing' } }],
    when: { belowTopC: 110 },
  },
  'the couple is wired the wrong way round': {
    brings: 'sensor-fault',
    what: 'It shows less the hotter it is.',
    effects: [{ on: 'couple', fault: { kind: 'reversed' } }],
    when: { afterS: 0 },
  },
  'the instrument freezes': {
    brings: 'sensor-fault',
    what: 'It repeats its last value while the kiln goes on.',
    effects: [{ on: 'couple', fault: { kind: 'frozen' } }],
    when: { belowTopC: 60 },
  },
  'the couple jumps': {
    brings: 'sensor-fault',
    what: 'The wires touch elsewhere and it shows less at once.',
    effects: [{ on: 'couple', fault: { kind: 'jump', byC: -45 } }],
    when: { belowTopC: 150 },
  },
  'the couple shows the impossible': {
    brings: 'sensor-fault',
    what: 'A value that no such couple can show.',
    effects: [{ on: 'couple', fault: { kind: 'out-of-range', atC: 2400 } }],
    when: { climbingC: 480 },
  },
  'the couple drifts': {
    brings: 'sensor-fault',
    what: 'It ages in the firing and shows ever less.',
    effects: [{ on: 'couple', fault: { kind: 'drift', cPerH: -25 } }],
    when: { climbingC: 450 },
  },
  'the couple slips': {
    brings: 'sensor-fault',
    what: 'It slides out of the wall by a third: the reading falls while heat goes in.',
    effects: [{ on: 'couple', fault: { kind: 'slipped', outRatio: 0.3, overS: 40 } }],
    when: { belowTopC: 40 },
  },
  'the instrument sends its word for no value': {
    brings: 'sensor-fault',
    what: 'A fixed number that means no value.',
    effects: [{ on: 'couple', fault: { kind: 'sentinel', codeC: 0 } }],
    when: { belowTopC: 130 },
    forS: 600,
  },
  'a draught on the terminals': {
    brings: 'sensor-fault',
    what: 'The terminals grow warm and the instrument does not know it.',
    effects: [{ on: 'couple', fault: { kind: 'cold-junction', is: 'sensor-off', byC: -18 } }],
    when: { climbingC: 400 },
  },
  'it truly stands still': {
    brings: null,
    looksLike: 'sensor-fault',
    what: 'A read-out in whole degrees in a steady hold.',
    effects: [],
    couple: { stepC: 1, noiseC: 0.05 },
    when: { afterS: 0 },
  },
  'a single wild value': {
    brings: null,
    looksLike: 'sensor-fault',
    what: 'A spark: one reading is off by far.',
    effects: [{ on: 'couple', fault: { kind: 'jump', byC: 80 } }],
    when: { climbingC: 430 },
    forS: 2,
  },
  'one of two drifts': {
    brings: 'sensors-disagree',
    what: 'The other couple wanders off.',
    effects: [{ on: 'couple', others: true, fault: { kind: 'drift', cPerH: 40 } }],
    when: { climbingC: 300 },
  },
  'one of two slips': {
    brings: 'sensors-disagree',
    what: 'The other couple slides out of the wall.',
    effects: [{ on: 'couple', others: true, fault: { kind: 'slipped', outRatio: 0.2, overS: 120 } }],
    when: { climbingC: 450 },
  },
  'the lower half stays cold': {
    brings: 'sensors-disagree',
    what: 'The lower elements give a third: the couples tell of two kilns.',
    heat: 'electric',
    effects: [{ on: 'kiln', mishap: { kind: 'element', where: 'below', ratio: 0.2 } }],
    when: { climbingC: 250 },
  },
  'one of two jumps': {
    brings: 'sensors-disagree',
    what: 'The other couple shows forty degrees more at once.',
    effects: [{ on: 'couple', others: true, fault: { kind: 'jump', byC: 40 } }],
    when: { climbingC: 420 },
  },
  'hotter under the arch, as always': {
    brings: null,
    looksLike: 'sensors-disagree',
    what: 'The usual spread between top and shelf.',
    effects: [],
    when: { afterS: 0 },
  },
};

const lines: Faults = {
  'the line falls silent': {
    brings: 'silence',
    what: 'Nothing comes from the instrument.',
    effects: [{ on: 'line', fault: { kind: 'silent' } }],
    when: { belowTopC: 50 },
    forS: 300,
  },
  'one couple falls silent': {
    brings: 'silence',
    what: 'The ruling couple is no longer sent.',
    effects: [{ on: 'line', fault: { kind: 'silent', sensors: ['shelf'] } }],
    when: { belowTopC: 90 },
    forS: 600,
  },
  'the line comes and goes': {
    brings: 'silence',
    what: 'A loose plug: most of what is sent is lost.',
    effects: [{ on: 'line', fault: { kind: 'loose', lostRatio: 0.97 } }],
    when: { belowTopC: 130 },
    forS: 900,
  },
  'a reading is missed': {
    brings: null,
    looksLike: 'silence',
    what: 'One or two samples are lost.',
    effects: [{ on: 'line', fault: { kind: 'loose', lostRatio: 0.3 } }],
    when: { belowTopC: 90 },
    forS: 60,
  },
  "the instrument's clock jumps on": {
    brings: 'clock-trouble',
    what: 'Its time is set an hour forward.',
    effects: [{ on: 'clock', fault: { kind: 'steps', byS: HOUR_S } }],
    when: { climbingC: 450 },
  },
  "the instrument's clock jumps back": {
    brings: 'clock-trouble',
    what: 'Its time is set back by fifty-five minutes.',
    effects: [{ on: 'clock', fault: { kind: 'steps', byS: -3300 } }],
    when: { climbingC: 450 },
  },
  "the instrument's clock stands": {
    brings: 'clock-trouble',
    what: 'Every reading carries the same time.',
    effects: [{ on: 'clock', fault: { kind: 'stuck' } }],
    when: { belowTopC: 150 },
    forS: 900,
  },
  "the instrument's clock is a little off": {
    brings: null,
    looksLike: 'clock-trouble',
    what: 'It gains a second in an hour.',
    effects: [{ on: 'clock', fault: { kind: 'runs', ratio: 1.0003 } }],
    when: { afterS: 0 },
  },
  'the disk is full': {
    brings: 'record-trouble',
    what: 'No more lines can be written.',
    effects: [{ on: 'disk', sentence: 'the disk is full', missing: 120 }],
    when: { climbingC: 400 },
    forS: 1200,
  },
  'the disk refuses': {
    brings: 'record-trouble',
    what: 'It has become read-only.',
    effects: [{ on: 'disk', sentence: 'the disk may only be read', missing: 4000 }],
    when: { climbingC: 200 },
  },
  'the disk fails for a moment': {
    brings: 'record-trouble',
    what: 'A write fails; the next goes well, and some lines are missing.',
    effects: [{ on: 'disk', sentence: 'the disk reports an error', missing: 3 }],
    when: { holdingS: 60 },
    forS: 5,
  },
};

const slowDisk: Faults = {
  'the disk is slow': {
    brings: null,
    looksLike: 'record-trouble',
    what: 'It takes seconds for a write and loses nothing.',
    effects: [{ on: 'nature' }],
    when: { climbingC: 300 },
    forS: 600,
  },
};

export const faults: Faults = {
  ...overshoot,
  ...slowness,
  ...tooFast,
  ...openings,
  ...heatGone,
  ...heatStuck,
  ...holds,
  ...couples,
  ...lines,
  ...slowDisk,
};
