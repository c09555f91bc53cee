/** The invented workshop that the scenarios happen in: its kilns as core knows them, its couples, a day. */
import type { KilnSetup } from '../../daemon/core/plan/kiln.ts';
import type { CoupleSpec } from '../thermocouple.ts';

/** Readings of a scenario reach core as rows of one input: each sensor a channel, the switch another. */
export function decodingOfRows(sensors: readonly string[], lidSwitch: boolean): KilnSetup['decodings'] {
  const channels: Record<string, string> = Object.fromEntries(sensors.map((s) => [s, s]));
  return { rows: { kind: 'channels', channels: lidSwitch ? { ...channels, lid: 'lid' } : channels } };
}

export function gasKilnSetup(name: string, sensors: readonly string[], lidSwitch: boolean): KilnSetup {
  return {
    id: name.toLowerCase().replace(/[^a-z0-9]+/g, '-'),
    name,
    heat: 'gas',
    closure: 'door',
    toleranceC: 6,
    safeOpenC: 150,
    plateMm: 3,
    sensors: sensors.map((sensor, i) => ({ name: sensor, letter: 'K', rules: i === 0 })),
    decodings: decodingOfRows(sensors, lidSwitch),
    utcOffsetMinutes: 0,
  };
}

/** A couple of type K in a ceramic sheath over the shelf. */
export const shelfCouple: CoupleSpec = {
  sensor: 'shelf',
  looksAt: { wall: 0.3, shelf: 0.3, glass: 0.4 },
  lagS: 90,
  noiseC: 0.2,
  stepC: 0.25,
  missedRatio: 0,
};

/** Another near the arch: sees more wall, shows a little more. */
export const topCouple: CoupleSpec = {
  sensor: 'top',
  looksAt: { wall: 0.7, shelf: 0.15, glass: 0.15 },
  lagS: 30,
  noiseC: 0.3,
  stepC: 0.25,
  missedRatio: 0.002,
  offsetC: 4,
};

/** 12 May 2025: an ordinary Monday. */
export function onMonday(hour: number, minute: number): number {
  return Date.UTC(2025, 4, 12, hour, minute);
}
