/** What the server may ask of the watch. The runtime implements it; the server knows nothing else of the daemon. */
import type { Deed } from '../core/inputs.ts';
import type {
  BeforeLighting,
  Calendar,
  Curve,
  FiringDetail,
  FiringRow,
  LastTime,
  LiveMessage,
  SnapshotMessage,
} from '../wire/live-messages.ts';

/** Refusals throw `RequestError` (see `daemon/errors.ts`), which carries the HTTP status and the three-part answer. */
export interface Desk {
  snapshot(mayCommand: boolean): SnapshotMessage;
  /** Adds a listener for everything that happens from now on; returns the way to remove it. */
  listen(listener: (message: LiveMessage) => void): () => void;
  /** True while readings are being judged: the loop moved within the last seconds. */
  isHealthy(): boolean;
  firings(): Promise<readonly FiringRow[]>;
  firing(id: string): Promise<FiringDetail>;
  curve(id: string, points: number): Promise<Curve>;
  /** What the hand did in the last firing of the same schedule in the same kiln; null where there was none. */
  lastTime(firingId: string): Promise<LastTime | null>;
  /** `roomC`: what the room's thermometer shows, if somebody looked. */
  beforeLighting(kiln: string, roomC: number | undefined): Promise<BeforeLighting>;
  /** The hands that a schedule of the shelf needs if it is lit now. */
  calendar(kiln: string, schedule: string): Calendar;
  /** `schedule` is a key of the shelf, a whole schedule as an object, or nothing. Resolves with the new firing's id. */
  begin(kiln: string, schedule: unknown, by: string): Promise<{ id: string }>;
  /** Hands a deed to the firing and resolves once it is on the disk. */
  deed(firingId: string, by: string, deed: Deed): Promise<void>;
  /** Seen and put aside name the alert; the firing is found by it. */
  alertDeed(alertId: string, by: string, deed: Deed): Promise<void>;
  /** Gives or changes the plan. `schedule` as in `begin`. */
  plan(firingId: string, schedule: unknown, by: string): Promise<void>;
}
