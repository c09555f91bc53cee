/**
 * What can go wrong between a couple's tip and the figure that the instrument gives.
 *
 * All in °C, as for small signals: that a couple's voltage is not quite even over the temperature is left out.
 */
import type { SeededRandom } from '../daemon/core/numbers/seeded-random.ts';
import type { TerminalHeating } from './terminal.ts';

export type SensorFault =
  /** A broken wire or a loose screw: the instrument says so, or shows its upper end, or whatever the wires catch. */
  | { readonly kind: 'open-circuit'; readonly shows: 'nothing' }
  | { readonly kind: 'open-circuit'; readonly shows: 'burnout'; readonly atC: number }
  /** Wanders from where it was, by `wanderC` in a second and by √n times that in n, weakly held to the terminals. */
  | { readonly kind: 'open-circuit'; readonly shows: 'antenna'; readonly wanderC: number }
  /** Opens and closes by itself; the two times are means. */
  | { readonly kind: 'intermittent'; readonly openForS: number; readonly closedForS: number }
  /** Swapped leads: mirrors about the terminals. */
  | { readonly kind: 'reversed' }
  /** The last figure for ever. */
  | { readonly kind: 'frozen' }
  | { readonly kind: 'jump'; readonly byC: number }
  /** The wires touch on their way out: a new junction, 0 at the tip … 1 in the shell. Seen at once. */
  | { readonly kind: 'shorted'; readonly outRatio: number }
  /** Figures no couple of this letter can give; an instrument that guards its range then gives none. */
  | { readonly kind: 'out-of-range'; readonly atC: number }
  | { readonly kind: 'drift'; readonly cPerH: number }
  /** Out of the chamber by this share, sliding for so long: from then on it takes as much from the shell. */
  | { readonly kind: 'slipped'; readonly outRatio: number; readonly overS: number }
  /** A code that is no temperature, as 0, −32768, 9999 or 1372, exactly as given. */
  | { readonly kind: 'sentinel'; readonly codeC: number }
  /** The instrument's thermometer at the terminals is off, or the terminals are warmed and it feels only a share. */
  | { readonly kind: 'cold-junction'; readonly is: 'sensor-off'; readonly byC: number }
  | ({ readonly kind: 'cold-junction'; readonly is: 'terminal-heated' } & TerminalHeating)
  /** A noisy hour, on top of the usual noise: harmless. */
  | { readonly kind: 'noisy'; readonly noiseC: number };

export type SensorFaultKind = SensorFault['kind'];

/** The `cause` by which a watch should name each fault; null for what is none. */
export const CAUSES: Readonly<Record<SensorFaultKind, string | null>> = {
  'open-circuit': 'open-circuit',
  intermittent: 'open-circuit',
  reversed: 'reversed',
  frozen: 'frozen',
  jump: 'jump',
  shorted: 'jump',
  'out-of-range': 'out-of-range',
  drift: 'drift',
  slipped: 'slipped',
  sentinel: 'sentinel',
  'cold-junction': 'cold-junction',
  noisy: null,
};

/** How weakly a free input is held to the terminals' temperature. Ours. */
const ANTENNA_HELD_S = 900;
/** An even random number between −½ and ½ has this much less spread than one: √12. */
const SQRT_12 = Math.sqrt(12);

/** What flows through a sound circuit at the instant of a reading. */
export interface Circuit {
  /** What the tip is worth, errors of the wire included. */
  readonly tipC: number;
  readonly shellC: number;
  readonly terminalC: number;
}

export interface SensorFaults {
  /** A fault of another kind comes on top, one of the same kind instead; null mends everything. */
  suffer(fault: SensorFault | null): void;
  /** Mends this kind alone. */
  mend(kind: SensorFaultKind): void;
  /** Takes one random number, whatever is broken. */
  step(durationS: number): void;
  /** How far the couple is out of the chamber now, 0 to 1. */
  outRatio(): number;
  terminalHeating(): TerminalHeating | null;
  /** The usual noise and what a noisy hour adds. */
  noiseC(usualC: number): number;
  /** What reaches the instrument, before noise and the cold end's compensation. */
  wired(circuit: Circuit): number;
  /** What the terminals' thermometer adds by its own fault. */
  sensorOffC(): number;
  /** What the instrument gives instead of `celsius`, which is already in its steps. */
  given(celsius: number | null): number | null;
}

interface Active {
  readonly fault: SensorFault;
  sinceS: number;
  /** Of an intermittent contact. */
  isOpen: boolean;
  /** How far an antenna has wandered. */
  wanderedC: number;
  /** Where an antenna began. */
  startC: number | null;
}

export function sensorFaults(random: SeededRandom): SensorFaults {
  let active: Active[] = [];
  let lastShownC: number | null = null;

  function stepOne(a: Active, durationS: number, even: number): void {
    a.sinceS += durationS;
    const { fault } = a;
    if (fault.kind === 'intermittent') {
      const meanS = a.isOpen ? fault.openForS : fault.closedForS;
      if (even < durationS / (meanS + durationS)) a.isOpen = !a.isOpen;
    }
    if (fault.kind === 'open-circuit' && fault.shows === 'antenna') {
      a.wanderedC += fault.wanderC * Math.sqrt(durationS) * SQRT_12 * (even - 0.5);
      const held = ANTENNA_HELD_S / (ANTENNA_HELD_S + durationS);
      a.wanderedC *= held;
      if (a.startC !== null) a.startC *= held;
    }
  }

  function wiredThrough(a: Active, shownC: number, circuit: Circuit): number {
    const { fault } = a;
    switch (fault.kind) {
      case 'jump':
        return shownC + fault.byC;
      case 'shorted':
        return shownC + (circuit.shellC - shownC) * fault.outRatio;
      case 'drift':
        return shownC + (fault.cPerH / 3600) * a.sinceS;
      case 'reversed':
        return 2 * circuit.terminalC - shownC;
      case 'out-of-range':
        return fault.atC;
      case 'open-circuit':
        if (fault.shows !== 'antenna') return shownC;
        a.startC ??= shownC - circuit.terminalC;
        return circuit.terminalC + a.startC + a.wanderedC;
      case 'intermittent':
      case 'frozen':
      case 'slipped':
      case 'sentinel':
      case 'cold-junction':
      case 'noisy':
        return shownC;
    }
  }

  function givenBy({ fault, isOpen }: Active, celsius: number | null): number | null {
    switch (fault.kind) {
      case 'open-circuit':
        if (fault.shows === 'antenna') return celsius;
        return fault.shows === 'burnout' ? fault.atC : null;
      case 'intermittent':
        return isOpen ? null : celsius;
      case 'sentinel':
        return fault.codeC;
      case 'frozen':
        return lastShownC ?? celsius;
      case 'reversed':
      case 'jump':
      case 'shorted':
      case 'out-of-range':
      case 'drift':
      case 'slipped':
      case 'cold-junction':
      case 'noisy':
        return celsius;
    }
  }

  const mend = (kind: SensorFaultKind): void => {
    active = active.filter((a) => a.fault.kind !== kind);
  };

  return {
    mend,
    suffer(fault) {
      if (fault === null) {
        active = [];
        return;
      }
      mend(fault.kind);
      active.push({ fault, sinceS: 0, isOpen: true, wanderedC: 0, startC: null });
    },
    step(durationS) {
      const even = random.next();
      for (const a of active) stepOne(a, durationS, even);
    },
    outRatio() {
      for (const { fault, sinceS } of active) {
        if (fault.kind !== 'slipped') continue;
        return fault.overS > 0 ? fault.outRatio * Math.min(1, sinceS / fault.overS) : fault.outRatio;
      }
      return 0;
    },
    terminalHeating() {
      for (const { fault } of active) {
        if (fault.kind === 'cold-junction' && fault.is === 'terminal-heated') return fault;
      }
      return null;
    },
    noiseC(usualC) {
      for (const { fault } of active) {
        if (fault.kind === 'noisy') return Math.sqrt(usualC * usualC + fault.noiseC * fault.noiseC);
      }
      return usualC;
    },
    wired(circuit) {
      let shownC = circuit.tipC;
      for (const a of active) shownC = wiredThrough(a, shownC, circuit);
      return shownC;
    },
    sensorOffC() {
      for (const { fault } of active) {
        if (fault.kind === 'cold-junction' && fault.is === 'sensor-off') return fault.byC;
      }
      return 0;
    },
    given(celsius) {
      let givenC = celsius;
      for (const a of active) givenC = givenBy(a, givenC);
      if (givenC !== null) lastShownC = givenC;
      return givenC;
    },
  };
}
