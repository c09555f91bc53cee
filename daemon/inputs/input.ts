/** A field interface: it delivers what an instrument says, undecoded, and reconnects for ever. */

export interface Heard {
  readonly channel?: string;
  readonly text: string;
  readonly retained?: boolean;
}

/** `sentence` is for the person: what is wrong and what would help, or what it is connected to. */
export interface InputStatus {
  readonly state: 'connecting' | 'connected' | 'lost';
  readonly sentence: string;
}

export interface Listener {
  heard(message: Heard): void;
  /** Called at every change of state, never twice in a row with the same sentence. */
  status(status: InputStatus): void;
}

export interface Input {
  readonly name: string;
  start(listener: Listener): void;
  stop(): Promise<void>;
}
