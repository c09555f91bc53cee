/** Which degrees this screen shows, remembered by it. */
import { useEffect, useState } from 'preact/hooks';
import { recall, remember } from './keepsakes.ts';
import { setUnit, type Unit, unit } from './unit.ts';

const listeners = new Set<() => void>();

/** To be called before the first picture. */
export function applyUnit(): void {
  setUnit(recall('unit') === 'F' ? 'F' : 'C');
}

export function chooseUnit(next: Unit): void {
  setUnit(next);
  remember('unit', next);
  for (const listener of listeners) listener();
}

/** Renders anew when another unit is chosen. */
export function useUnit(): Unit {
  const [, setTurn] = useState(0);
  useEffect(() => {
    const again = (): void => setTurn((turn) => turn + 1);
    listeners.add(again);
    return () => {
      listeners.delete(again);
    };
  }, []);
  return unit();
}
