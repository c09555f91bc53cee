/** Readings of a scenario reach core as rows of one input: each sensor a channel, the switch another. */
import type { KilnSetup } from '../daemon/core/plan/kiln.ts';

export function decodingOfRows(sensors: readonly string[], lidSwitch: boolean): KilnSetup['decodings'] {
  const channels: Record<string, string> = Object.fromEntries(sensors.map((s) => [s, s]));
  return { rows: { kind: 'channels', channels: lidSwitch ? { ...channels, lid: 'lid' } : channels } };
}
