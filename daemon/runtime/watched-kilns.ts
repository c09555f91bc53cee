/** The kilns that are watched, each with its loop and its inputs: one may come, be changed or go while the others are watched on. */
import type { KilnConfig } from '../config/load.ts';
import { RequestError } from '../errors.ts';
import type { Input } from '../inputs/input.ts';
import { type Arrivals, arrivals } from './arrivals.ts';
import type { Clock } from './clock.ts';
import type { FiringLoop } from './firing-loop.ts';
import { makeInputs } from './make-inputs.ts';
import { type ModbusLines, modbusLines } from './modbus-lines.ts';

export interface WatchedParts {
  readonly clock: Clock;
  /** By the kiln's id, in their order on the page. */
  readonly loops: Map<string, FiringLoop>;
  readonly openLoop: (kiln: KilnConfig) => FiringLoop;
  /** Minutes east of UTC of the clock on the wall. */
  readonly utcOffsetMinutes: () => number;
}

interface Wired {
  readonly input: Input;
  readonly arrived: Arrivals;
  readonly loop: FiringLoop;
}

export class WatchedKilns {
  readonly lines: ModbusLines;
  readonly #parts: WatchedParts;
  readonly #kilns = new Map<string, KilnConfig>();
  readonly #wired = new Map<string, readonly Wired[]>();

  constructor(parts: WatchedParts) {
    this.#parts = parts;
    this.lines = modbusLines(parts.clock);
  }

  get all(): readonly KilnConfig[] {
    return [...this.#kilns.values()];
  }

  /** Makes its loop and inputs; nothing is heard before `start`. */
  prepare(config: KilnConfig): void {
    const loop = this.#parts.openLoop(config);
    this.#parts.loops.set(config.kiln.id, loop);
    this.#wire(config, loop);
  }

  #wire(config: KilnConfig, loop: FiringLoop): void {
    const { clock } = this.#parts;
    const { id } = config.kiln;
    this.#kilns.set(id, config);
    const inputs = makeInputs(config, clock, this.lines);
    this.#wired.set(
      id,
      inputs.map((input) => ({
        input,
        loop,
        arrived: arrivals(clock, (message) => loop.heard(input.name, message)),
      })),
    );
  }

  start(id: string): void {
    this.#parts.loops.get(id)?.start();
    this.#listen(id);
  }

  #listen(id: string): void {
    for (const { input, arrived, loop } of this.#wired.get(id) ?? []) {
      input.start({
        heard: arrived.heard,
        status: (status) => loop.inputStatus(input.name, status),
      });
    }
  }

  /** A kiln that is being fired is heard elsewhere from now on; its firing goes on. */
  async move(config: KilnConfig): Promise<void> {
    const { loops, utcOffsetMinutes } = this.#parts;
    const { id } = config.kiln;
    const loop = loops.get(id);
    if (loop === undefined) throw noSuchKiln(id);
    await this.#stopListening(id);
    loop.setUp({ ...config.kiln, utcOffsetMinutes: utcOffsetMinutes() });
    this.#wire(config, loop);
    this.#listen(id);
    // It shows what it is called now once that is on the disk.
    await loop.settled();
  }

  loopOf(id: string): FiringLoop | undefined {
    return this.#parts.loops.get(id);
  }

  /**
   * Is deaf to it and lets its loop come to rest, so that it may be changed or go.
   * @returns how it was set up
   * @throws RequestError where it is not watched, or is being fired
   */
  async rest(id: string): Promise<KilnConfig> {
    const config = this.#kilns.get(id);
    const loop = this.#parts.loops.get(id);
    if (config === undefined || loop === undefined) throw noSuchKiln(id);
    if (loop.running !== null) throw isBeingFired(config.kiln.name);
    await this.#stopListening(id);
    await loop.settled();
    // A firing may have begun by itself meanwhile.
    if (loop.running !== null) {
      this.#listen(id);
      throw isBeingFired(config.kiln.name);
    }
    await loop.stop();
    return config;
  }

  /** A kiln that rests is watched no more. */
  forget(id: string): void {
    this.#parts.loops.delete(id);
    this.#kilns.delete(id);
    this.#wired.delete(id);
  }

  async #stopListening(id: string): Promise<void> {
    const wired = this.#wired.get(id) ?? [];
    await Promise.all(wired.map(({ input }) => input.stop()));
    for (const { arrived } of wired) arrived.stop();
  }

  async stopListening(): Promise<void> {
    await Promise.all([...this.#wired.keys()].map((id) => this.#stopListening(id)));
  }
}

function noSuchKiln(id: string): RequestError {
  return new RequestError(404, {
    what: `no kiln ${id} is watched`,
    where: 'the address of the request',
    right: 'one of those on the page Kilns',
  });
}

function isBeingFired(name: string): RequestError {
  return new RequestError(409, {
    what: `${name} is being fired`,
    where: 'the kiln',
    right: 'it can be removed once its firing is over',
  });
}
