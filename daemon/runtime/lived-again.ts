/** Whether a recorded firing, lived again, says what its record says was told. */
import { canonicalLine } from '../recorder/canonical.ts';
import type { Line } from '../recorder/recorder.ts';
import { CORE } from './core-fingerprint.ts';
import { eventEntry, readOpening } from './record-lines.ts';
import { relive } from './relive.ts';

export interface LivedAgain {
  /** Alerts that the record tells of, by id. */
  readonly alerts: number;
  readonly isSame: boolean;
  /** The first line that was not said again, or the last line where more was said than it holds. */
  readonly differsAtLine: number | null;
  /**
   * Whether a difference means something: the record was written by this very code, from beginning to end, and no line
   * of it found no room.
   */
  readonly isBySameCode: boolean;
}

const SAID: ReadonlySet<string> = new Set(['alert', 'call']);

/** @returns null for a record that opens no firing this program can read */
export function liveAgain(lines: readonly Line[]): LivedAgain | null {
  const opening = readOpening(lines[0]);
  if (opening === undefined) return null;
  const said: string[] = [];
  relive(opening, lines, (event) => {
    const entry = eventEntry(event);
    if (entry !== undefined && SAID.has(entry.type)) said.push(canonicalLine(entry));
  });
  const told = lines.filter((line) => SAID.has(line.type));
  const differing = told.findIndex(({ n: _n, prev: _prev, ...entry }, i) => canonicalLine(entry) !== said[i]);
  const isSame = differing < 0 && said.length === told.length;
  return {
    alerts: new Set(told.filter((line) => line.type === 'alert').map((line) => line.id)).size,
    isSame,
    differsAtLine: isSame ? null : (told[differing]?.n ?? lines.length),
    isBySameCode: writers(lines).every((core) => core === CORE) && !lines.some(isOfLostLines),
  };
}

function writers(lines: readonly Line[]): unknown[] {
  return lines.filter((line) => line.type === 'open' || line.type === 'resumed').map((line) => line.core);
}

/** A disk refused for so long that lines found no room in memory either. */
function isOfLostLines(line: Line): boolean {
  if (line.type !== 'edge' || line.edge !== 'record-back') return false;
  return Number(Object(line.said).missing ?? 0) > 0;
}
