/** All that a report tells of one firing, gathered before anything is drawn or written. */
import type { KilnSetup } from '../core/plan/kiln.ts';
import type { FigureRow } from '../wire/figure-rows.ts';
import type { Curve, FiringDetail, Proof } from '../wire/live-messages.ts';

export interface FiringReport {
  readonly detail: FiringDetail;
  readonly curve: Curve;
  readonly proof: Proof;
  readonly kiln: KilnSetup;
  readonly software: string;
  /** Minutes east of UTC of the clock on the workshop's wall at the firing's beginning. */
  readonly utcOffsetMinutes: number;
  readonly figures: readonly FigureRow[];
  /** How each sensor measures, its calibration and how far off it may be: one sentence each. */
  readonly sensors: readonly string[];
  /** JPEG photographs by their SHA-256; what is not here is only named. */
  readonly photos: ReadonlyMap<string, Buffer>;
  /** When the report was made. */
  readonly madeAtMs: number;
}

/** "2026-11-25 14:02" on the wall of the workshop. */
export function wallTime(atMs: number, utcOffsetMinutes: number): string {
  return new Date(atMs + utcOffsetMinutes * 60_000).toISOString().slice(0, 16).replace('T', ' ');
}

/** "UTC+01:00" */
export function zoneName(utcOffsetMinutes: number): string {
  const sign = utcOffsetMinutes < 0 ? '−' : '+';
  const minutes = Math.abs(utcOffsetMinutes);
  const two = (count: number): string => String(Math.floor(count)).padStart(2, '0');
  return `UTC${sign}${two(minutes / 60)}:${two(minutes % 60)}`;
}
