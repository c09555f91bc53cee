/** What stands in a firing's record, and whether living it again gives the alerts that it tells of. */
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { expect } from 'vitest';
import type { FiringState } from '../../daemon/core/state.ts';
import { type ChainCheck, judgeRecord, walkChain } from '../../daemon/recorder/hash-chain.ts';
import type { Line } from '../../daemon/recorder/recorder.ts';
import { eventEntry, readOpening } from '../../daemon/runtime/record-lines.ts';
import { relive } from '../../daemon/runtime/relive.ts';

export function recordFolder(dataDir: string, firingId: string): string {
  return join(dataDir, 'firings', firingId);
}

export async function readRecord(
  dataDir: string,
  firingId: string,
): Promise<{ readonly lines: readonly Line[]; readonly check: ChainCheck }> {
  const walk = walkChain(await readFile(join(recordFolder(dataDir, firingId), 'record.jsonl')));
  return { lines: walk.content, check: judgeRecord(walk) };
}

export function linesOf(lines: readonly Line[], type: string): Line[] {
  return lines.filter((line) => line.type === type);
}

/** What a line says, without its place in the chain. */
function content({ n: _n, prev: _prev, ...rest }: Line): object {
  return rest;
}

/**
 * Lives the record again and compares all that core says with what the record tells of: alerts, calls and gaps, each
 * with its time and words. Returns the state at the end.
 */
export function expectSameWhenLivedAgain(lines: readonly Line[]): FiringState {
  const opening = readOpening(lines[0]);
  if (opening === undefined) throw new Error('the record opens no firing');
  const said: object[] = [];
  const state = relive(opening, lines, (event) => {
    const entry = eventEntry(event);
    if (entry !== undefined) said.push(entry);
  });
  const told = lines.filter((line) => ['alert', 'call', 'gap'].includes(line.type)).map(content);
  expect(said).toEqual(told);
  return state;
}
