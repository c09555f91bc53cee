/** Rings and speaks as long as somebody is wanted: at every word of the daemon and each second, shown or hidden. */
import { NOT_LIVE_AFTER_S } from './liveness.ts';
import { dueRing, type Rung, wantedRings } from './ring-plan.ts';
import type { Sound } from './sound.ts';
import type { Store } from './store.ts';
import type { Voice } from './voice.ts';

interface RingingParts {
  readonly store: Store;
  readonly sound: Sound;
  readonly voice: Voice;
  heardMs(): number | null;
  nowMs(): number;
}

export function startRinging({ store, sound, voice, heardMs, nowMs }: RingingParts): () => void {
  let rung: Rung = new Map();
  const look = (): void => {
    const heard = heardMs();
    const now = nowMs();
    const isNotLive = heard !== null && now - heard >= NOT_LIVE_AFTER_S * 1000;
    if (sound.state() !== 'on') return; // Nothing counts as rung that nobody could hear.
    const due = dueRing(wantedRings(store.state(), isNotLive), rung, now);
    rung = due.rung;
    if (due.ring === null) return;
    sound.ring(due.ring.ring);
    if (due.isSaid) setTimeout(() => voice.say(due.ring?.say ?? ''), AFTER_BELL_MS);
  };
  const timer = setInterval(look, 1000);
  const stop = store.listen(look);
  const stopSound = sound.listen(look);
  return () => {
    clearInterval(timer);
    stop();
    stopSound();
  };
}

/** The voice begins as the bell dies away. */
const AFTER_BELL_MS = 1400;
