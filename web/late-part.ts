/** A part of the page that comes after its first words: loaded beside them, and drawn once it is there. */
import { useEffect, useState } from 'preact/hooks';

export interface LatePart<T> {
  /** Begins to load it; a second call changes nothing. */
  load(): void;
  /** Renders anew once it has come. */
  use(): Arrival<T>;
}

/** `missing` where it did not come: the daemon is gone, or has a newer page since this one was opened. */
export type Arrival<T> = T | 'coming' | 'missing';

export function latePart<T extends object>(bring: () => Promise<T>): LatePart<T> {
  let arrival: Arrival<T> = 'coming';
  let coming: Promise<void> | null = null;
  function load(): Promise<void> {
    coming ??= bring().then(
      (part) => {
        arrival = part;
      },
      () => {
        arrival = 'missing';
      },
    );
    return coming;
  }
  return {
    load: () => void load(),
    use() {
      const [, setTurn] = useState(0);
      useEffect(() => {
        if (arrival !== 'coming') return;
        let isWanted = true;
        void load().then(() => {
          if (isWanted) setTurn((turn) => turn + 1);
        });
        return () => {
          isWanted = false;
        };
      }, []);
      return arrival;
    },
  };
}
