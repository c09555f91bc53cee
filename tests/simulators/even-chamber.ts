/** A chamber that is set by hand, for tests of what measures in it. */
import type { Measured } from '../../simulators/thermocouple.ts';

export interface EvenChamber extends Measured {
  /** Everywhere the same. */
  setC(celsius: number): void;
  setRoomC(celsius: number): void;
  setStirring(wPerM2K: number): void;
}

export function evenChamber(startC: number, roomC = 20): EvenChamber {
  let everywhereC = startC;
  let room = roomC;
  let stirring = 5;
  return {
    setC(celsius) {
      everywhereC = celsius;
    },
    setRoomC(celsius) {
      room = celsius;
    },
    setStirring(wPerM2K) {
      stirring = wPerM2K;
    },
    celsius: () => everywhereC,
    stirringWPerM2K: () => stirring,
    roomC: () => room,
  };
}
