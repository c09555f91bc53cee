/** What the server may ask of the part that sets kilns up. */
import type { EarNow, KilnAdded, NewKiln, Place, SetupPlaces } from '../wire/setup.ts';

/** Refusals throw `RequestError`, as for `Desk`. */
export interface SetupDesk {
  places(): SetupPlaces;
  /** Listens there, and nowhere else any more. */
  listenAt(place: Place): Promise<EarNow>;
  /** null while nothing is listened to. */
  heard(): EarNow | null;
  stopListening(): Promise<void>;
  /** Writes the kiln into the configuration and watches it from now on. */
  add(kiln: NewKiln): Promise<KilnAdded>;
}
