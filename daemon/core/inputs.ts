/** Everything that can reach core. Each input carries its instant; core has no clock of its own. */
import type { AlertKind } from './alert-kinds.ts';
import type { KilnSetup } from './plan/kiln.ts';
import type { Schedule } from './plan/schedule.ts';

/** What an instrument said, as it said it: a line, a payload, a row of a recorded curve. */
export interface RawMessage {
  readonly kind: 'raw';
  readonly atMs: number;
  /** Name of the input that delivered it, a key of `KilnSetup.decodings`. */
  readonly input: string;
  /** Topic or column, where the input has several. */
  readonly channel?: string | undefined;
  readonly text: string;
  /** An MQTT message that the broker kept from earlier: never a reading of now. */
  readonly retained?: boolean | undefined;
  /** Newer ones came at the same moment: an instrument or a network had kept it for a while. */
  readonly keptBack?: boolean | undefined;
}

/** Time passes, with or without readings: one tick each second of data time. */
export interface Tick {
  readonly kind: 'tick';
  readonly atMs: number;
}

/** What a person did, told through the page. */
export type Action = { readonly kind: 'action'; readonly atMs: number; readonly by: string } & Deed;

/** Whether the couples of a cold kiln show the same, and the room's temperature; null where it cannot be said. */
export interface CouplesWord {
  readonly agree: boolean | null;
  readonly sentence: string;
}

/** One line of the list before lighting. */
export interface ListItem {
  readonly text: string;
  readonly isDone: boolean;
}

export type Deed =
  | { readonly deed: 'plan'; readonly schedule: Schedule }
  /**
   * An act of the hand or a look of the eye: "valve", value "mark 3". With `correctsAtMs` it says what was really done
   * at that instant, when an earlier act was logged wrongly; both stand in the record.
   */
  | {
      readonly deed: 'act';
      readonly what: string;
      readonly value?: string | undefined;
      readonly correctsAtMs?: number | undefined;
    }
  /** The painter's list before lighting, as it was ticked; `roomC` is the room's own thermometer. */
  | {
      readonly deed: 'list';
      readonly items: readonly ListItem[];
      readonly roomC?: number | undefined;
      /** What the couples showed before the firing began; else it is told by its own readings. */
      readonly couples?: CouplesWord | undefined;
    }
  | { readonly deed: 'seen'; readonly alertId: string }
  | { readonly deed: 'put-aside'; readonly alertId: string; readonly minutes: number }
  /** All is well again, says somebody who has looked. */
  | { readonly deed: 'reset'; readonly alertId: string }
  /** A kind of alert is not wanted in this firing, for a reason; and is wanted again. */
  | { readonly deed: 'switch-off'; readonly alert: AlertKind; readonly why: string }
  | { readonly deed: 'switch-on'; readonly alert: AlertKind }
  | { readonly deed: 'note'; readonly text: string; readonly photo?: Photo | undefined }
  | { readonly deed: 'end' };

/** A photograph: a file beside the record, named by the SHA-256 of its bytes. */
export interface Photo {
  readonly sha256: string;
  readonly media: 'image/jpeg' | 'image/png';
}

/** What happened at an edge of the daemon. */
export type EdgeStatus = { readonly kind: 'edge'; readonly atMs: number } & EdgeNews;

export type EdgeNews =
  /** An input lost or regained its instrument; `sentence` says what is wrong in plain words. */
  | { readonly edge: 'input-lost'; readonly input: string; readonly sentence: string }
  | { readonly edge: 'input-back'; readonly input: string }
  /** The daemon came back after having been away; the ticks between are missing. */
  | { readonly edge: 'restarted'; readonly awayS: number }
  /** The disk refuses, or takes lines again. */
  | { readonly edge: 'record-lost'; readonly sentence: string }
  | { readonly edge: 'record-back'; readonly missing: number }
  /** The configuration says otherwise of this kiln than it did when the firing began. */
  | { readonly edge: 'setup-changed'; readonly kiln: KilnSetup }
  /** The wall clock was set; durations are not touched, since core's time does not jump. */
  | { readonly edge: 'clock-set'; readonly byS: number };

export type CoreInput = RawMessage | Tick | Action | EdgeStatus;
