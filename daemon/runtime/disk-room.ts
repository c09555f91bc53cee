/** Room on the disk that the records stand on: told before it runs out, and looked at before a firing begins (R11). */
import { statfs } from 'node:fs/promises';
import type { KilnSetup } from '../core/plan/kiln.ts';
import type { Clock } from './clock.ts';

/** A reading's line with its share of all others: 167 bytes were measured for one sensor at one a second; more for alerts. */
const BYTES_PER_READING = 200;
const S_PER_DAY = 86_400;
/** Requirement R11's own figures. */
const WARN_DAYS = 14;
const WARN_RATIO = 0.1;
const TIMES_ITS_SIZE = 3;
/** A firing with its cooling seldom takes longer. Common practice, no source. */
const LONGEST_FIRING_DAYS = 1;
const LOOK_EACH_MS = 600_000;

export interface Room {
  readonly freeBytes: number;
  readonly totalBytes: number;
}

export type LookAtRoom = (folder: string) => Promise<Room>;

export class DiskRoom {
  readonly #folder: string;
  #bytesPerDay = 0;
  readonly #look: LookAtRoom;
  #room: Room | null = null;

  /** @param kilns all that may fire at once */
  constructor(folder: string, kilns: readonly Pick<KilnSetup, 'sensors' | 'sampleS'>[], look: LookAtRoom = roomOf) {
    this.#folder = folder;
    this.count(kilns);
    this.#look = look;
  }

  /** Other kilns are watched than at first. */
  count(kilns: readonly Pick<KilnSetup, 'sensors' | 'sampleS'>[]): void {
    this.#bytesPerDay = kilns.reduce((sum, kiln) => sum + bytesPerDay(kiln), 0);
  }

  /** Looks now and every ten minutes, until the returned function is called. Resolves after the first look. */
  async watch(clock: Clock, log: (sentence: string) => void): Promise<() => void> {
    let told: string | null = null;
    const lookAgain = async (): Promise<void> => {
      await this.look();
      if (this.sentence !== null && told === null) log(this.sentence);
      told = this.sentence;
    };
    await lookAgain();
    return clock.every(LOOK_EACH_MS, () => void lookAgain());
  }

  async look(): Promise<void> {
    try {
      this.#room = await this.#look(this.#folder);
    } catch {
      // A system that does not tell: a full disk is then told when it refuses.
      this.#room = null;
    }
  }

  /** What is amiss, or null. */
  get sentence(): string | null {
    if (this.#room === null) return null;
    const { freeBytes, totalBytes } = this.#room;
    const days = freeBytes / this.#bytesPerDay;
    const isLow = days < WARN_DAYS || freeBytes < WARN_RATIO * totalBytes;
    if (!isLow) return null;
    const left = days < 1 ? 'less than a day' : days >= 365 ? 'more than a year' : `about ${Math.floor(days)} days`;
    return `The disk of the records has ${sizeOf(freeBytes)} left, enough for ${left} of firing; make room on it.`;
  }

  /** Why no firing may begin, or null. */
  get refusal(): string | null {
    if (this.#room === null) return null;
    const needed = TIMES_ITS_SIZE * LONGEST_FIRING_DAYS * this.#bytesPerDay;
    if (this.#room.freeBytes >= needed) return null;
    return `the disk of the records has only ${sizeOf(this.#room.freeBytes)} left`;
  }
}

function bytesPerDay({ sensors, sampleS = 1 }: Pick<KilnSetup, 'sensors' | 'sampleS'>): number {
  return (sensors.length * BYTES_PER_READING * S_PER_DAY) / Math.max(sampleS, 0.1);
}

async function roomOf(folder: string): Promise<Room> {
  const { bavail, blocks, bsize } = await statfs(folder);
  return { freeBytes: bavail * bsize, totalBytes: blocks * bsize };
}

function sizeOf(bytes: number): string {
  return bytes >= 1e9 ? `${(bytes / 1e9).toFixed(1)} GB` : `${Math.floor(bytes / 1e6)} MB`;
}
