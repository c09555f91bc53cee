/** The schedules at hand: those that come along, and the workshop's own. */
import { existsSync, readdirSync } from 'node:fs';
import { dirname, extname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Schedule } from '../core/plan/schedule.ts';
import { ConfigError } from '../errors.ts';
import { readScheduleFile } from './schedule-file.ts';

export interface Shelf {
  /** `key` is the file's name without its ending. */
  readonly schedules: readonly { readonly key: string; readonly schedule: Schedule }[];
  /** What could not be read, in sentences for the page; the watch goes on without. */
  readonly troubles: readonly string[];
}

const ENDINGS = ['.yaml', '.yml', '.json'];

/** Where two folders hold the same key the later folder wins, so that a workshop can change a schedule that came along. */
export function readShelf(dirs: readonly string[]): Shelf {
  const schedules = new Map<string, Schedule>();
  const troubles: string[] = [];
  for (const dir of dirs) {
    const seenHere = new Set<string>();
    for (const name of scheduleFiles(dir, troubles)) {
      const key = name.slice(0, -extname(name).length);
      if (seenHere.has(key)) {
        troubles.push(
          `${join(dir, name)}: another file there has the same name but for its ending; rename one of them.`,
        );
        continue;
      }
      seenHere.add(key);
      try {
        schedules.set(key, readScheduleFile(join(dir, name)));
      } catch (error) {
        if (!(error instanceof ConfigError)) throw error;
        troubles.push(error.message);
      }
    }
  }
  const sorted = [...schedules].sort(([a], [b]) => (a < b ? -1 : 1));
  return { schedules: sorted.map(([key, schedule]) => ({ key, schedule })), troubles };
}

function scheduleFiles(dir: string, troubles: string[]): string[] {
  try {
    return readdirSync(dir)
      .filter((name) => ENDINGS.includes(extname(name)))
      .sort();
  } catch {
    troubles.push(`${dir}: this folder of schedules cannot be read; correct its path or make it.`);
    return [];
  }
}

/** The schedules that come along, found from the source as well as from the built code, which lies one folder deeper. */
export function shippedSchedulesDir(): string {
  let dir = dirname(fileURLToPath(import.meta.url));
  for (;;) {
    const candidate = join(dir, 'profiles', 'schedules');
    if (existsSync(candidate)) return candidate;
    const parent = dirname(dir);
    if (parent === dir) throw new ConfigError('profiles/schedules', [LOST]);
    dir = parent;
  }
}

const LOST = {
  what: 'is not there',
  where: 'the folder',
  right: 'install the program again, the folder profiles with it',
};
