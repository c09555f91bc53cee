/**
 * The cold end: the terminals where a couple's wires end, and the instrument's own thermometer for them. What that
 * thermometer feels too little or too late is missing from, or too much in, every reading.
 */

export interface TerminalSpec {
  /** How much of the shell's warmth above the room the terminals take: 0 at the instrument's far end, 1 on the shell. */
  readonly shellRatio: number;
  /** How late the terminals follow room and shell; some ten minutes for a screwed block. From memory. */
  readonly lagS: number;
  /** How late the instrument's thermometer follows the terminals. */
  readonly sensorLagS: number;
  /** Share of the terminals' distance from 20 °C that the instrument adds back; 1 for a good one. */
  readonly compensatedRatio: number;
}

/** A cold end that makes no error: the terminals are at the room's temperature, and the instrument knows it. */
export const perfectTerminal: TerminalSpec = { shellRatio: 0, lagS: 0, sensorLagS: 0, compensatedRatio: 1 };

/** The instrument is adjusted on a bench of 20 °C. Ours. */
const ADJUSTED_C = 20;

/** A draught or a lamp on the terminals, and how much of it the thermometer beside them feels. */
export interface TerminalHeating {
  readonly byC: number;
  readonly feltRatio: number;
}

export interface Terminal {
  step(durationS: number, roomC: number, shellC: number, heating: TerminalHeating | null): void;
  celsius(): number;
  /** What the instrument takes for the terminals' temperature. */
  sensedC(): number;
}

export function terminal(spec: TerminalSpec, roomC: number, shellC: number): Terminal {
  const placeC = (room: number, shell: number): number => room + spec.shellRatio * (shell - room);
  let ownC = placeC(roomC, shellC);
  let heatedByC = 0;
  let feltRatio = 0;
  let sensorC = ownC;
  return {
    step(durationS, room, shell, heating) {
      if (heating !== null) feltRatio = heating.feltRatio;
      const share = durationS / (spec.lagS + durationS);
      ownC += (placeC(room, shell) - ownC) * share;
      heatedByC += ((heating?.byC ?? 0) - heatedByC) * share;
      sensorC += ((ownC + feltRatio * heatedByC - sensorC) * durationS) / (spec.sensorLagS + durationS);
    },
    celsius: () => ownC + heatedByC,
    sensedC: () => ADJUSTED_C + (sensorC - ADJUSTED_C) * spec.compensatedRatio,
  };
}
