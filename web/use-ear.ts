/** Listens through the daemon to an instrument that is not set up yet, as long as the page is looked at. */
import { useEffect, useRef, useState } from 'preact/hooks';
import type { EarNow, Place } from '../daemon/wire/setup.ts';
import { api } from './api.ts';

/** A line a second is followed by the eye. */
const ASK_MS = 700;

export interface Hearing {
  readonly ear: EarNow | null;
  readonly refusal: string | null;
  listen(place: Place): void;
  /** While a kiln is written down its port changes hands: nothing is asked meanwhile. */
  rest(isResting: boolean): void;
}

export function useEar(): Hearing {
  const [ear, setEar] = useState<EarNow | null>(null);
  const [place, setPlace] = useState<Place | null>(null);
  const [refusal, setRefusal] = useState<string | null>(null);
  const resting = useRef(false);
  /** Counted up with each place, so that an answer about an earlier one is not shown. */
  const [turn, setTurn] = useState(0);

  useEffect(() => {
    if (turn === 0) return undefined;
    let isWanted = true;
    let timer: ReturnType<typeof setTimeout>;
    const ask = async (): Promise<void> => {
      const answer = resting.current ? null : await api.heard();
      if (!isWanted) return;
      timer = setTimeout(() => void ask(), ASK_MS);
      if (answer === null || resting.current) return;
      if (!answer.ok) setRefusal(answer.sentence);
      else if (answer.value.ear !== null) setEar(answer.value.ear);
      // A page that slept was taken for gone: it listens there again.
      else if (place !== null) void api.listenAt(place);
    };
    timer = setTimeout(() => void ask(), ASK_MS);
    return () => {
      isWanted = false;
      clearTimeout(timer);
    };
  }, [turn]);
  useEffect(
    () => () => {
      void api.stopListening();
    },
    [],
  );

  const listen = (next: Place): void => {
    setPlace(next);
    setEar(null);
    setRefusal(null);
    void api.listenAt(next).then((answer) => {
      if (answer.ok) setEar(answer.value.ear);
      else setRefusal(answer.sentence);
      setTurn(answer.ok ? (now) => now + 1 : 0);
    });
  };
  const rest = (isResting: boolean): void => {
    resting.current = isResting;
  };
  return { ear, refusal, listen, rest };
}
