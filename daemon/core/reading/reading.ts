/** What one message of an instrument turned out to say. */

export type Reading =
  | { readonly kind: 'temperature'; readonly sensor: string; readonly temperatureC: number }
  /** The instrument answered, but gave no temperature. */
  | { readonly kind: 'fault'; readonly sensor: string; readonly fault: string }
  | { readonly kind: 'lid'; readonly open: boolean };

/** A message that says nothing we can use: one sentence for the person. */
export interface Rejected {
  readonly ok: false;
  readonly sentence: string;
}

export interface Decoded {
  readonly ok: true;
  readonly readings: readonly Reading[];
}
