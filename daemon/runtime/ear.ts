/** Listens to an instrument that nobody has described yet, and keeps the little of it that a person looks at. */
import { parseHostPort } from '../config/host-port.ts';
import { wordsIn } from '../core/reading/register-map.ts';
import {
  type BlockHeard,
  type Offer,
  offersOfLines,
  offersOfRegisters,
  offersOfTopics,
  type RegisterTable,
} from '../core/setup/offers.ts';
import { RequestError } from '../errors.ts';
import type { Heard, Input, InputStatus } from '../inputs/input.ts';
import type { Block } from '../inputs/modbus/modbus-registers.ts';
import { mqttTopics } from '../inputs/mqtt-topics.ts';
import { networkLines, serialLines } from '../inputs/text-lines.ts';
import type { EarNow, Place } from '../wire/setup.ts';
import type { Clock } from './clock.ts';
import type { ModbusLines } from './modbus-lines.ts';

/** The ways to read a line are looked for in so many of the newest; as many are kept of each topic. Ours. */
const KEPT = 20;
const SHOWN = 8;
/** A broker of a whole house says more than anybody reads through. Ours. */
const MOST_TOPICS = 200;
const MOST_TOPIC_BYTES = 300;
/** Registers that are asked for from the first on, in both tables. */
const REGISTERS = 10;
const TIMEOUT_S = 1;

export interface Ear {
  now(): EarNow;
  stop(): Promise<void>;
}

export interface EarParts {
  readonly clock: Clock;
  /** A line on which a kiln is read already is shared with it. */
  readonly lines: ModbusLines;
  readonly byIdDir?: string | undefined;
  /** Certificates of the authority that is trusted, as PEM. */
  readonly ca?: string | undefined;
}

/** @throws RequestError for an address that is none */
export function openEar(place: Place, { clock, lines, byIdDir, ca }: EarParts): Ear {
  switch (place.kind) {
    case 'serial':
      return lineEar(place, serialLines({ name: 'ear', ...place }, clock, Math.random, byIdDir), clock);
    case 'tcp':
      return lineEar(place, networkLines({ name: 'ear', ...addressOf(place.address) }, clock), clock);
    case 'mqtt': {
      const { kind: _kind, caFile: _file, ...broker } = place;
      if (!/^mqtts?:\/\/[^/@\s]+\/?$/.test(place.url) || !URL.canParse(place.url)) {
        throw noAddress(
          'url',
          place.url,
          'write mqtt://HOST:1883, or mqtts://HOST:8883, without a name or password in it',
        );
      }
      return topicEar(place, mqttTopics({ name: 'ear', ...broker, ca, topics: ['#'] }, clock), clock);
    }
    case 'modbus-rtu':
    case 'modbus-tcp':
      return registerEar(place, clock, lines);
  }
}

type Kept = { -readonly [K in 'heard' | 'status']: K extends 'heard' ? EarNow['heard'] : InputStatus };

function listening(
  place: Place,
  input: Input,
  clock: Clock,
  hear: (message: Heard) => void,
  offers: () => readonly Offer[],
): Ear {
  const kept: Kept = { heard: [], status: { state: 'connecting', sentence: '' } };
  input.start({
    heard(message) {
      const { channel, text } = message;
      kept.heard = [...kept.heard, { atMs: clock.nowMs(), text, ...(channel !== undefined && { channel }) }].slice(
        -SHOWN,
      );
      hear(message);
    },
    status(status) {
      kept.status = status;
    },
  });
  return {
    now: () => ({ place: place.kind, ...kept.status, heard: kept.heard, offers: offers() }),
    stop: () => input.stop(),
  };
}

function lineEar(place: Place, input: Input, clock: Clock): Ear {
  let lines: string[] = [];
  return listening(
    place,
    input,
    clock,
    ({ text }) => {
      lines = [...lines, text].slice(-KEPT);
    },
    () => offersOfLines(lines),
  );
}

function topicEar(place: Place, input: Input, clock: Clock): Ear {
  const topics = new Map<string, string[]>();
  return listening(
    place,
    input,
    clock,
    ({ channel = '', text }) => {
      // What we say ourselves is no instrument.
      if (channel.startsWith('spyhole/') || channel.length > MOST_TOPIC_BYTES) return;
      if (!topics.has(channel) && topics.size >= MOST_TOPICS) return;
      topics.set(channel, [...(topics.get(channel) ?? []), text].slice(-KEPT));
    },
    () => offersOfTopics([...topics].map(([topic, texts]) => ({ topic, texts }))),
  );
}

type ModbusPlace = Extract<Place, { readonly kind: 'modbus-rtu' | 'modbus-tcp' }>;

/** Ten registers of each table at once; where an instrument refuses that, one by one, since it may have but a few of them. */
function registerEar(place: ModbusPlace, clock: Clock, modbus: ModbusLines): Ear {
  const words = new Map<string, BlockHeard>();
  const tables: RegisterTable[] = ['holding', 'input'];
  let isOneByOne = false;
  let ear = listen(tables.map((table) => blockOf(place, table, place.register, REGISTERS)));
  let ending: Promise<void> = Promise.resolve();

  function listen(blocks: readonly Block[]): Ear {
    const at = modbusAt(place);
    const line =
      place.kind === 'modbus-rtu'
        ? ({ framing: 'rtu', at, everyS: 1, timeoutS: TIMEOUT_S } as const)
        : ({
            framing: 'tcp',
            at: addressOf(place.address),
            repeatsNumber: true,
            everyS: 1,
            timeoutS: TIMEOUT_S,
          } as const);
    const input = modbus.at(line).input({ name: 'ear', blocks });
    return listening(place, input, clock, hear, () => offersOfRegisters([...words.values()]));
  }

  function hear({ channel = '', text }: Heard): void {
    const block = readBlock(channel);
    const found = wordsIn(text);
    if (block === undefined) return;
    if (found !== undefined) words.set(channel, { ...block, words: found });
    if (!text.startsWith('exception') || isOneByOne || words.size > 0) return;
    isOneByOne = true;
    const old = ear;
    ending = ending
      .then(() => old.stop())
      .then(() => {
        const ones = Array.from({ length: REGISTERS }, (_, i) => place.register + i);
        ear = listen(tables.flatMap((table) => ones.map((register) => blockOf(place, table, register, 1))));
      });
  }

  return {
    now: () => ear.now(),
    async stop() {
      isOneByOne = true;
      await ending;
      await ear.stop();
    },
  };
}

function blockOf({ unit }: ModbusPlace, table: RegisterTable, register: number, registerCount: number): Block {
  const functionCode = table === 'holding' ? 3 : 4;
  return { channel: `${unit} ${table} ${register}`, unit, functionCode, address: register, registerCount };
}

function readBlock(channel: string): Omit<BlockHeard, 'words'> | undefined {
  const [, unit, table, register] = /^(\d+) (holding|input) (\d+)$/.exec(channel) ?? [];
  if (table !== 'holding' && table !== 'input') return undefined;
  return { unit: Number(unit), table, register: Number(register) };
}

function modbusAt(place: ModbusPlace) {
  if (place.kind === 'modbus-tcp') return addressOf(place.address);
  const { port, baud, parity } = place;
  return parseHostPort(port) ?? { port, baud, parity, stopBits: 1 as const };
}

function addressOf(text: string): { readonly host: string; readonly port: number } {
  const at = parseHostPort(text);
  if (at === undefined) throw noAddress('address', text, 'write HOST:PORT, for example 192.168.1.20:502');
  return at;
}

function noAddress(where: string, text: string, right: string): RequestError {
  // A password that somebody put into the address is not said aloud.
  const shown = text.replace(/\/\/[^/]*@/, '//…@').slice(0, 80);
  return new RequestError(400, { what: `${JSON.stringify(shown)} is no address`, where, right });
}
