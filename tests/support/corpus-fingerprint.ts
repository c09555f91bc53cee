/** What stands for all figures of a simulated firing, to the thousandth of a degree, and for its truth. */
import { createHash } from 'node:crypto';
import type { LiveFiring } from '../../simulators/firing-scenario.ts';

const CHUNK_MS = 10 * 60_000;

/** Fires it to its end, bit by bit, so that memory stays small. */
export function fingerprintOf(firing: LiveFiring): string {
  const hash = createHash('sha256');
  while (!firing.ended()) {
    const { rows } = firing.step(firing.atMs() + CHUNK_MS);
    hash.update(rows.map((r) => `${r.atMs},${r.sensor},${r.celsius},${Math.round(r.glassC * 1000)}\n`).join(''));
  }
  hash.update(JSON.stringify(firing.truth()));
  return hash.digest('hex').slice(0, 16);
}
