/** What the server may ask of the part that sets kilns up. */
import type { EarNow, KilnAdded, KilnForm, KilnForms, NewKiln, Place, SetupPlaces } from '../wire/setup.ts';

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
  /** What may be changed of each kiln, as it is now. */
  forms(): KilnForms;
  /** Changes a kiln; while it is fired only names and where its instruments speak. */
  change(form: KilnForm): Promise<void>;
  /** Takes a kiln that is not being fired out of the watch and the configuration; its firings stay. */
  remove(id: string): Promise<void>;
}
