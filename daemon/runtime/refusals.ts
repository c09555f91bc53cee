/** What an instrument said that could not be used, in one sentence: not one for each line of a garbled cable. */

/** On the page it stands until nothing unusable has come for this long. Ours. */
const SHOWN_REAL_MS = 60_000;
/** A sentence on the page stays long enough to be read, though the next line is garbled differently. Ours. */
const READ_REAL_MS = 5000;
/** The log has the first one at once, then one a minute with how many it stands for. Ours. */
const LOGGED_EACH_REAL_MS = 60_000;

export class Refusals {
  #shown: { readonly sentence: string; readonly sinceRealMs: number } | null = null;
  #lastRealMs = Number.NEGATIVE_INFINITY;
  #loggedRealMs = Number.NEGATIVE_INFINITY;
  #unloggedCount = 0;

  /** The sentence to show; null while all that comes can be used. */
  get sentence(): string | null {
    return this.#shown?.sentence ?? null;
  }

  /** @returns what to write to the log, if anything */
  note(sentence: string, realMs: number): string | null {
    this.#lastRealMs = realMs;
    if (this.#shown === null || realMs - this.#shown.sinceRealMs >= READ_REAL_MS) {
      this.#shown = { sentence, sinceRealMs: realMs };
    }
    if (realMs - this.#loggedRealMs < LOGGED_EACH_REAL_MS) {
      this.#unloggedCount++;
      return null;
    }
    const more = this.#unloggedCount === 0 ? '' : ` ${this.#unloggedCount} more could not be used since the last word.`;
    this.#loggedRealMs = realMs;
    this.#unloggedCount = 0;
    return `${sentence}${more}`;
  }

  /** Takes the sentence off the page once it is past. @returns whether it did */
  lookAt(realMs: number): boolean {
    if (this.#shown === null || realMs - this.#lastRealMs < SHOWN_REAL_MS) return false;
    this.#shown = null;
    return true;
  }
}
