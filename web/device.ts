/** What this screen itself can do: sound, speak, stay lit, stand among the apps. */
import { useEffect, useState } from 'preact/hooks';
import { type Installing, makeInstalling } from './installing.ts';
import { makeSound, type Sound } from './sound.ts';
import { makeVoice, type Voice } from './voice.ts';
import { makeWake, type Wake } from './wake-lock.ts';

export interface Device {
  readonly sound: Sound;
  readonly voice: Voice;
  readonly wake: Wake;
  readonly installing: Installing;
}

export function makeDevice(): Device {
  const sound = makeSound();
  const wake = makeWake();
  // A browser that has gone quiet, after a call or a night, wakes with whatever is tapped next.
  document.addEventListener(
    'pointerdown',
    () => {
      if (sound.state() === 'off' && wasEverOn) void sound.start();
      if (wake.state() === 'not-held') void wake.ask();
    },
    { capture: true },
  );
  let wasEverOn = false;
  sound.listen(() => {
    wasEverOn ||= sound.state() === 'on';
  });
  return { sound, voice: makeVoice(), wake, installing: makeInstalling() };
}

/** Renders anew when one of them changes, when the page is shown again, and every few seconds besides (requirement D11). */
export function useDevice(device: Device): void {
  const [, setTurn] = useState(0);
  useEffect(() => {
    const again = (): void => setTurn((turn) => turn + 1);
    const stops = [device.sound.listen(again), device.wake.listen(again), device.installing.listen(again)];
    document.addEventListener('visibilitychange', again);
    const timer = setInterval(again, LOOK_MS);
    return () => {
      for (const stop of stops) stop();
      document.removeEventListener('visibilitychange', again);
      clearInterval(timer);
    };
  }, [device]);
}

const LOOK_MS = 5000;
