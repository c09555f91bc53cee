/** Faults that stop or hinder the daemon. The message is one sentence for a person; `code` is for programs. */
export class DaemonError extends Error {
  readonly code: string;
  constructor(code: string, message: string, options?: ErrorOptions) {
    super(message, options);
    this.name = new.target.name;
    this.code = code;
  }
}

/** One thing that is wrong in a file or a request: what, where, and what would be right. */
export interface Fault {
  readonly what: string;
  readonly where: string;
  readonly right: string;
}

export function faultSentence(fault: Fault): string {
  return `${fault.where}: ${fault.what}; ${fault.right}.`;
}

/** The configuration, a schedule or a kiln file is wrong: every fault at once. */
export class ConfigError extends DaemonError {
  readonly faults: readonly Fault[];
  constructor(file: string, faults: readonly Fault[]) {
    super('config', faults.map((f) => `${file}: ${faultSentence(f)}`).join('\n'));
    this.faults = faults;
  }
}

/** A request that cannot be met: what was wrong, where, what would be right. */
export class RequestError extends DaemonError {
  readonly fault: Fault;
  readonly status: number;
  constructor(status: number, fault: Fault) {
    super('request', faultSentence(fault));
    this.status = status;
    this.fault = fault;
  }
}

export class InputError extends DaemonError {}
export class RecordError extends DaemonError {}
export class NotifyError extends DaemonError {}
export class ServerError extends DaemonError {}
