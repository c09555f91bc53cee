/** Registers of instruments on a Modbus line or behind a Modbus address, asked for again and again. */
import type { Clock } from '../../runtime/clock.ts';
import type { Input, Listener } from '../input.ts';
import { onceRunning } from '../once-running.ts';
import { type Reconnect, reconnect, waitS } from '../reconnect.ts';
import { type SerialPortOptions, serialWire } from '../serial-wire.ts';
import { statusTeller, type TellStatus } from '../status-teller.ts';
import { type TcpAddress, tcpWire } from '../tcp-wire.ts';
import type { OpenWire, Wire } from '../wire.ts';
import { type Framing, type Question, rtuFraming, tcpFraming } from './frames.ts';
import { type Master, modbusMaster, type Timing } from './master.ts';
import { whyNoValues } from './modbus-trouble.ts';
import { type UnitPoll, unitPoll } from './unit-poll.ts';

/** A block of registers under the name that its raw words are handed on with. */
export interface Block extends Question {
  readonly channel: string;
}

/** One line or one address, and how it is spoken to. */
export type LineOptions = { readonly everyS: number; readonly timeoutS: number } & (
  | { readonly framing: 'rtu'; readonly at: SerialPortOptions | TcpAddress }
  /** `repeatsNumber` is false for a gateway that does not repeat the number of the question. */
  | { readonly framing: 'tcp'; readonly at: TcpAddress; readonly repeatsNumber: boolean }
);

/** What one kiln reads of the line. */
export interface LineMember {
  readonly name: string;
  readonly blocks: readonly Block[];
}

/** A start, eight data bits, parity or a second stop bit, a stop. */
const BITS_PER_BYTE = 11;
/** Silence between two frames: 3.5 characters, above 19,200 baud 1.75 ms (Serial Line V1.02, 2.5.1.1, from memory). */
const GAP_CHARACTERS = 3.5;
const FAST_BAUD = 19_200;
const FAST_GAP_MS = 1.75;
/** Behind a box in the network the line's speed is not known; this is a usual slow one. From memory. */
const SLOW_BAUD = 9600;
/** One missed answer is made good within a second or two; only then it is worth a sentence. Ours. */
const TOLD_FAILURES = 2;

/** A line that kilns may come to and leave while others are read on it. */
export interface SharedLine {
  /** One kiln's part of the line, as an input of its own. */
  input(member: LineMember): Input;
  /** Nobody is read there now. */
  readonly isIdle: boolean;
}

/**
 * The line is opened with the first that starts and closed with the last that stops; one chain of questions serves all.
 * @param chance 0 to 1, for the jitter of the waits between two tries
 */
export function sharedLine(line: LineOptions, clock: Clock, chance: () => number = Math.random): SharedLine {
  const listeners = new Map<LineMember, Listener>();
  let running: PolledLine | undefined;
  return {
    get isIdle() {
      return listeners.size === 0;
    },
    input: (member) =>
      onceRunning(member.name, (listener) => {
        listeners.set(member, listener);
        running ??= pollLine(line, listeners, clock, chance);
        running.join(member);
        return {
          async stop() {
            listeners.delete(member);
            running?.leave(member);
            if (listeners.size > 0) return;
            const ending = running;
            running = undefined;
            await ending?.stop();
          },
        };
      }),
  };
}

/** The kilns of a line that nobody else comes to. */
export function modbusLine(
  line: LineOptions,
  members: readonly LineMember[],
  clock: Clock,
  chance: () => number = Math.random,
): Input[] {
  const shared = sharedLine(line, clock, chance);
  return members.map((member) => shared.input(member));
}

export function wireOf(line: LineOptions, clock: Clock): { wire: Wire; framing: Framing; timing: Timing } {
  const timeoutMs = line.timeoutS * 1000;
  if (line.framing === 'tcp') {
    const timing = { timeoutMs, gapMs: 0, byteMs: 0 };
    return { wire: tcpWire(line.at, clock), framing: tcpFraming(line.repeatsNumber), timing };
  }
  const isSerial = 'baud' in line.at;
  const wire = 'baud' in line.at ? serialWire(line.at, clock) : tcpWire(line.at, clock);
  const baud = 'baud' in line.at ? line.at.baud : SLOW_BAUD;
  const byteMs = (BITS_PER_BYTE * 1000) / baud;
  const gapMs = isSerial && baud > FAST_BAUD ? FAST_GAP_MS : GAP_CHARACTERS * byteMs;
  return { wire, framing: rtuFraming, timing: { timeoutMs, gapMs, byteMs } };
}

interface PolledLine {
  join(member: LineMember): void;
  leave(member: LineMember): void;
  stop(): Promise<void>;
}

interface PolledUnit {
  readonly unit: number;
  readonly blocks: readonly Block[];
  readonly poll: UnitPoll;
  failures: number;
  /** It has answered since the wire was opened. */
  isHeard: boolean;
  nextRealMs: number;
  sentence: string | null;
}

function pollLine(
  line: LineOptions,
  listeners: ReadonlyMap<LineMember, Listener>,
  clock: Clock,
  chance: () => number,
): PolledLine {
  const { wire, framing, timing } = wireOf(line, clock);
  const tellers = new Map<LineMember, TellStatus>();
  let units: readonly PolledUnit[] = [];
  let isStopped = false;
  let open: OpenWire | undefined;
  let isOpen = false;
  /** Ends the chain of questions over the present wire. */
  let endAsking: () => void = () => {};
  const again: Reconnect = reconnect(clock, chance, tryOpen);

  /** Somebody came or left. Of whom nothing new is asked, the step stays proven. */
  function regroup(): void {
    const blocks = differing([...listeners.keys()].flatMap((member) => member.blocks));
    units = [...new Set(blocks.map((block) => block.unit))].map((number) => {
      const own = blocks.filter((block) => block.unit === number);
      const known = units.find((unit) => unit.unit === number);
      return known !== undefined && areSame(known.blocks, own) ? known : polledUnit(number, own);
    });
  }

  function polledUnit(unit: number, blocks: readonly Block[]): PolledUnit {
    const hand = (block: Block, text: string): void => {
      for (const [member, listener] of listeners) {
        const wanted = member.blocks.find((b) => isSame(b, block));
        if (wanted !== undefined) listener.heard({ channel: wanted.channel, text });
      }
    };
    const poll = unitPoll(blocks, timing.timeoutMs, clock, {
      words: (block, words) => hand(block, hexOf(words)),
      exception: (block, code) => hand(block, `exception ${code}`),
    });
    poll.begin();
    return { unit, blocks, poll, failures: 0, isHeard: false, nextRealMs: 0, sentence: null };
  }

  function tellAll(state: 'connecting' | 'lost', sentence: string): void {
    for (const tell of tellers.values()) tell(state, sentence);
  }

  function tryOpen(): void {
    let master: Master | undefined;
    open = wire.open({
      opened() {
        again.connected();
        isOpen = true;
        master = modbusMaster(framing, (bytes) => open?.write(bytes), clock, timing);
        for (const unit of units) {
          unit.poll.begin();
          unit.nextRealMs = 0;
          unit.isHeard = false;
        }
        void rounds(master);
      },
      bytes: (bytes) => master?.heard(bytes),
      gone(sentence) {
        open = undefined;
        isOpen = false;
        master?.end();
        if (isStopped) return;
        tellAll('lost', sentence);
        again.later();
      },
    });
    endAsking = () => master?.end();
  }

  /** One chain of questions for each opening of the wire, ended with it: there is never a second one (requirement C9). */
  async function rounds(master: Master): Promise<void> {
    const everyMs = line.everyS * 1000;
    let dueRealMs = clock.realMs();
    for (;;) {
      for (const unit of units) {
        if (clock.realMs() < unit.nextRealMs || !units.includes(unit)) continue;
        const trouble = await unit.poll.round(master);
        if (trouble?.kind === 'gone') return;
        if (trouble?.kind === 'alien') {
          dropAlien(unit);
          return;
        }
        if (units.includes(unit))
          note(unit, trouble === undefined ? null : whyNoValues(unit.unit, wire.where, trouble));
      }
      // A round that took too long is followed by the next whole one; none is caught up with.
      const nowRealMs = clock.realMs();
      dueRealMs += everyMs * Math.max(Math.ceil((nowRealMs - dueRealMs) / everyMs), 1);
      if (!(await master.pause(dueRealMs - nowRealMs))) return;
    }
  }

  function note(unit: PolledUnit, sentence: string | null): void {
    unit.isHeard ||= sentence === null;
    unit.failures = sentence === null ? 0 : unit.failures + 1;
    unit.sentence = unit.failures === 0 || unit.failures >= TOLD_FAILURES ? sentence : unit.sentence;
    // A missed answer is asked for again at once; an instrument that is switched off must not hold up the others.
    unit.nextRealMs =
      unit.failures < TOLD_FAILURES ? 0 : clock.realMs() + waitS(unit.failures - TOLD_FAILURES, chance()) * 1000;
    for (const [member, tell] of tellers) {
      const own = units.filter((u) => member.blocks.some((b) => b.unit === u.unit));
      const sentences = own.flatMap((u) => u.sentence ?? []);
      if (sentences.length > 0) tell('lost', sentences.join(' '));
      else if (own.every((u) => u.isHeard && u.failures === 0)) tell('connected', readingOf(own));
    }
  }

  function readingOf(own: readonly PolledUnit[]): string {
    const numbers = own.map((u) => u.unit);
    const several = `units ${numbers.slice(0, -1).join(', ')} and ${numbers.at(-1)}`;
    return `Reading ${numbers.length === 1 ? `unit ${numbers[0]}` : several} on ${wire.where}.`;
  }

  /** Where the next frame begins can no longer be known, so the connection is of no use. */
  function dropAlien(unit: PolledUnit): void {
    const closing = open;
    open = undefined;
    isOpen = false;
    tellAll('lost', whyNoValues(unit.unit, wire.where, { kind: 'alien' }));
    void closing?.close().then(() => {
      if (!isStopped) again.later();
    });
  }

  tryOpen();
  return {
    join(member) {
      const listener = listeners.get(member);
      if (listener === undefined) return;
      const tell = statusTeller(listener);
      tellers.set(member, tell);
      regroup();
      tell('connecting', `${isOpen ? 'Asking on' : 'Opening'} ${wire.where}.`);
    },
    leave(member) {
      tellers.delete(member);
      regroup();
    },
    async stop() {
      isStopped = true;
      again.stop();
      endAsking();
      await open?.close();
    },
  };
}

function isSame(a: Question, b: Question): boolean {
  return (
    a.unit === b.unit &&
    a.functionCode === b.functionCode &&
    a.address === b.address &&
    a.registerCount === b.registerCount
  );
}

function areSame(a: readonly Question[], b: readonly Question[]): boolean {
  return a.length === b.length && a.every((question, i) => isSame(question, b[i] ?? question));
}

/** What two kilns read of the same registers is asked for once. */
function differing(blocks: readonly Block[]): Block[] {
  return blocks.filter((block, i) => blocks.findIndex((other) => isSame(other, block)) === i);
}

/** `1962 7fff`: the registers as they came, four hexadecimal digits each. */
function hexOf(words: readonly number[]): string {
  return words.map((word) => word.toString(16).padStart(4, '0')).join(' ');
}
