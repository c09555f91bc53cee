/**
 * An outside clock for the seals (R15): a time authority signs that it saw the last seal of each firing that is over.
 * Without a network it is asked again later; no firing waits for it.
 */
import { DaemonError } from '../errors.ts';
import type { AskAuthority } from '../notifier/time-authority.ts';
import type { FileRecordStore } from '../recorder/file-recorder.ts';
import type { Clock } from './clock.ts';
import type { Log } from './log.ts';

/** Public authorities ask for some seconds between two questions; the next one is asked at the next look. */
const LOOK_EACH_MS = 20_000;
/** After a failure, doubled each time. Our choice. */
const FIRST_WAIT_MS = 60_000;
const LONGEST_WAIT_MS = 3_600_000;

const HOPELESS: ReadonlySet<string> = new Set(['record-broken', 'unknown-firing']);

export interface OutsideTimeParts {
  readonly store: Pick<FileRecordStore, 'unstamped' | 'stamp'>;
  readonly ask: AskAuthority;
  readonly clock: Pick<Clock, 'every' | 'realMs'>;
  readonly log: Log;
  readonly lookEachMs?: number;
}

export class OutsideTime {
  readonly #parts: OutsideTimeParts;
  #stopLook: () => void = () => undefined;
  readonly #stopping = new AbortController();
  #working: Promise<void> | null = null;
  #notBeforeMs = 0;
  #waitMs = FIRST_WAIT_MS;
  /** Firings whose records cannot be stamped as they stand: not asked for again before the next start. */
  readonly #hopeless = new Set<string>();
  /** Why the last question was not answered, or null. */
  trouble: string | null = null;

  constructor(parts: OutsideTimeParts) {
    this.#parts = parts;
  }

  start(): void {
    const { clock, lookEachMs = LOOK_EACH_MS } = this.#parts;
    this.#stopLook = clock.every(lookEachMs, () => void this.look());
    void this.look();
  }

  async stop(): Promise<void> {
    this.#stopLook();
    this.#stopping.abort();
    await this.#working;
  }

  /** Why the last seal of a firing that is over is not stamped yet; null where it is, or where the firing goes on. */
  async awaited(firing: string): Promise<string | null> {
    const waiting = await this.#parts.store.unstamped().catch((): string[] => []);
    if (!waiting.includes(firing) || this.#hopeless.has(firing)) return null;
    return this.trouble ?? 'the time authority is asked within a minute.';
  }

  /** Asks for one firing, the newest that waits; resolves when that is done. */
  look(): Promise<void> {
    this.#working ??= this.#lookNow().finally(() => {
      this.#working = null;
    });
    return this.#working;
  }

  async #lookNow(): Promise<void> {
    const { store, ask, clock, log } = this.#parts;
    if (clock.realMs() < this.#notBeforeMs) return;
    let firing: string | undefined;
    try {
      firing = (await store.unstamped()).findLast((id) => !this.#hopeless.has(id));
      if (firing === undefined) return;
      const saw = await store.stamp(firing, (question) => ask(question, this.#stopping.signal));
      if (!saw) this.#hopeless.add(firing);
      if (this.trouble !== null) log('The time authority answers again.');
      this.trouble = null;
      this.#waitMs = FIRST_WAIT_MS;
    } catch (error) {
      if (this.#stopping.signal.aborted) return;
      // A record that is altered or gone gets no stamp, and must not keep the others waiting.
      const isOfRecord = error instanceof DaemonError && HOPELESS.has(error.code);
      if (isOfRecord && firing !== undefined) this.#hopeless.add(firing);
      const why = error instanceof Error ? error.message : String(error);
      if (this.trouble !== why) log(`${why} The seals are stamped later; no firing waits for it.`);
      this.trouble = why;
      if (isOfRecord) return;
      this.#notBeforeMs = clock.realMs() + this.#waitMs;
      this.#waitMs = Math.min(2 * this.#waitMs, LONGEST_WAIT_MS);
    }
  }
}
