/** What one message of an instrument turned out to say. */

export type Reading = (
  | { readonly kind: 'temperature'; readonly sensor: string; readonly temperatureC: number }
  /** What a couple gives at its instrument's terminals. */
  | { readonly kind: 'emf'; readonly sensor: string; readonly emfMv: number }
  /** The instrument answered, but gave no temperature. */
  | { readonly kind: 'fault'; readonly sensor: string; readonly fault: string }
  | { readonly kind: 'lid'; readonly open: boolean }
  /** What a controller means to do: its setpoint, or its output from 0 to 1; null where it gives no value now. */
  | { readonly kind: 'setpoint'; readonly setpointC: number | null }
  | { readonly kind: 'output'; readonly outputRatio: number | null }
) & {
  /** When it was measured by the instrument's own clock, where it says so. UTC ms, as far as that clock can be believed. */
  readonly saidAtMs?: number;
};

/** A message that says nothing we can use: one sentence for the person. */
export interface Rejected {
  readonly ok: false;
  readonly sentence: string;
}

export interface Decoded {
  readonly ok: true;
  readonly readings: readonly Reading[];
}
