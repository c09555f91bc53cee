/** What bytes come over: a serial port or a connection. Each opening is one try; whoever opens decides about the next. */

export interface WireEvents {
  opened(): void;
  bytes(bytes: Uint8Array): void;
  /** Called once, and the last thing that is told: it could not be opened, or has gone. `sentence` says why and what helps. */
  gone(sentence: string): void;
}

export interface OpenWire {
  /** Nothing is kept for later: on a wire that is not open the bytes are lost, as on a real one. */
  write(bytes: Uint8Array): void;
  /** No event comes any more. Resolves once the port or the connection is free. */
  close(): Promise<void>;
}

export interface Wire {
  /** As the person knows it: `/dev/ttyUSB0 at 9600 baud`, `box.local:4001`. */
  readonly where: string;
  open(events: WireEvents): OpenWire;
}
