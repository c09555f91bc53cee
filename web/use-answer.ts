/** Asks once when the page opens, and again when `key` changes. */
import { useEffect, useState } from 'preact/hooks';
import type { Answer } from './api.ts';

/** Null while it is on its way. `ask` must follow from `key` alone. */
export function useAnswer<T>(key: string, ask: () => Promise<Answer<T>>): Answer<T> | null {
  const [answer, setAnswer] = useState<{ readonly key: string; readonly answer: Answer<T> } | null>(null);
  useEffect(() => {
    let isWanted = true;
    void ask().then((got) => {
      if (isWanted) setAnswer({ key, answer: got });
    });
    return () => {
      isWanted = false;
    };
  }, [key]);
  return answer === null ? null : answer.answer;
}
