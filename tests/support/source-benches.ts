/** Each kind of source with a real peer behind it: an instrument that shows 648.5 °C, can be unplugged and come back. */
import { mkdtempSync, rmSync } from 'node:fs';
import { createServer, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Decoding } from '../../daemon/core/plan/kiln.ts';
import type { Input } from '../../daemon/inputs/input.ts';
import { modbusLine } from '../../daemon/inputs/modbus/modbus-registers.ts';
import { mqttTopics } from '../../daemon/inputs/mqtt-topics.ts';
import { startSmallBroker } from '../../daemon/inputs/small-broker.ts';
import { networkLines, serialLines } from '../../daemon/inputs/text-lines.ts';
import { type Clock, systemClock } from '../../daemon/runtime/clock.ts';
import { rtuDevice } from '../../simulators/modbus/rtu-device.ts';
import { modbusSlave } from '../../simulators/modbus/slave.ts';
import { tcpDevice } from '../../simulators/modbus/tcp-device.ts';
import { mqttDevice } from '../../simulators/mqtt-device.ts';
import { type DebianProgram, needs } from './debian.ts';
import { freePort, mosquitto } from './mosquitto.ts';
import { type TerminalPair, terminalPair } from './terminal-pair.ts';

export interface Instrument {
  /** Bytes that are no reading; where the source has no place for bytes, a payload or an answer that is none. */
  spoil?(bytes: Uint8Array): Promise<void>;
  unplug(): Promise<void>;
}

export interface SourceBench {
  /** A source that is not started yet. */
  input(clock: Clock, chance?: () => number): Input;
  plugIn(): Promise<Instrument>;
  readonly decoding: Decoding;
  end(): Promise<void>;
}

export interface SourceKind {
  readonly name: string;
  readonly needs: readonly DebianProgram[];
  /** @param everyS of the source's clock, between two rounds of questions, where it is asked */
  bench(everyS?: number): Promise<SourceBench>;
}

const SAYS_EACH_MS = 50;
const REGISTER = 6485;
const TIMEOUT_S = 20;
const block = { channel: 'unit 1 holding 0', unit: 1, functionCode: 3, address: 0, registerCount: 1 } as const;
const columns: Decoding = { kind: 'columns', columns: ['shelf'] };
const registers: Decoding = {
  kind: 'registers',
  points: [
    {
      gives: { kind: 'sensor', sensor: 'shelf' },
      channel: block.channel,
      place: 0,
      type: 'int16',
      order: 'ABCD',
      scale: 0.1,
      offset: 0,
      degrees: 'C',
      noValue: [],
    },
  ],
};

export const SOURCES: readonly SourceKind[] = [
  { name: 'lines on a serial port', needs: ['socat'], bench: serialBench },
  { name: 'lines over the network', needs: [], bench: networkBench },
  { name: 'Modbus on a serial port', needs: ['socat'], bench: rtuBench },
  { name: 'Modbus over the network', needs: [], bench: tcpBench },
  { name: 'MQTT', needs: [], bench: mqttBench },
];

/** A broker of its own for each try: what is pulled is the broker's plug. */
export const BROKERS: readonly SourceKind[] = (['3.1.1', 5] as const).map((version) => ({
  name: `Mosquitto, MQTT ${version}`,
  needs: ['mosquitto'],
  bench: () =>
    brokerBench(version, async (port) => {
      const { stop } = await mosquitto({ port, isQuiet: true });
      return stop;
    }),
}));

export function possibleSources(): readonly SourceKind[] {
  return SOURCES.filter((kind) => needs(...kind.needs));
}

async function onTerminal(): Promise<{ port: string; plugIn(): Promise<TerminalPair>; end(): Promise<void> }> {
  const dir = mkdtempSync(join(tmpdir(), 'spyhole-source-'));
  const pairs = new Set<TerminalPair>();
  return {
    port: join(dir, 'kiln-port'),
    async plugIn() {
      const pair = await terminalPair(dir);
      pairs.add(pair);
      return {
        ...pair,
        async unplug() {
          pairs.delete(pair);
          await pair.unplug();
        },
      };
    },
    async end() {
      for (const pair of pairs) await pair.unplug();
      rmSync(dir, { recursive: true, force: true });
    },
  };
}

async function serialBench(): Promise<SourceBench> {
  const terminal = await onTerminal();
  return {
    decoding: columns,
    input: (clock, chance) => serialLines({ name: 'one', port: terminal.port, baud: 9600 }, clock, chance),
    async plugIn() {
      const pair = await terminal.plugIn();
      let writing = Promise.resolve();
      const write = (bytes: string | Uint8Array): Promise<void> => {
        writing = writing.then(() => pair.write(bytes)).catch(() => undefined);
        return writing;
      };
      const beat = setInterval(() => void write('648.5\r\n'), SAYS_EACH_MS);
      return {
        spoil: write,
        async unplug() {
          clearInterval(beat);
          await writing;
          await pair.unplug();
        },
      };
    },
    end: terminal.end,
  };
}

async function networkBench(): Promise<SourceBench> {
  const port = await freePort();
  return {
    decoding: columns,
    input: (clock, chance) => networkLines({ name: 'one', host: '127.0.0.1', port }, clock, chance),
    async plugIn() {
      const sockets = new Set<Socket>();
      const server = createServer((socket) => {
        sockets.add(socket);
        socket.on('error', () => undefined);
        socket.once('close', () => sockets.delete(socket));
      });
      await new Promise<void>((resolve) => server.listen(port, '127.0.0.1', resolve));
      const write = (bytes: string | Uint8Array): void => {
        for (const socket of sockets) socket.write(bytes);
      };
      const beat = setInterval(() => write('648.5\r\n'), SAYS_EACH_MS);
      return {
        spoil: async (bytes) => write(bytes),
        async unplug() {
          clearInterval(beat);
          for (const socket of sockets) socket.destroy();
          await new Promise((resolve) => server.close(resolve));
        },
      };
    },
    end: async () => undefined,
  };
}

const slave = () => modbusSlave(() => new Map([[0, REGISTER]]));

async function rtuBench(everyS = 1): Promise<SourceBench> {
  const terminal = await onTerminal();
  const at = { port: terminal.port, baud: 9600 };
  return {
    decoding: registers,
    input: (clock, chance) =>
      oneOf(
        modbusLine(
          { framing: 'rtu', at, everyS, timeoutS: TIMEOUT_S },
          [{ name: 'one', blocks: [block] }],
          clock,
          chance,
        ),
      ),
    async plugIn() {
      const pair = await terminal.plugIn();
      const device = await rtuDevice(
        { path: `${pair.port}-far-end`, baud: 9600 },
        slave(),
        systemClock(),
        () => undefined,
      );
      return {
        spoil: (bytes) => pair.write(bytes),
        async unplug() {
          await device.stop();
          await pair.unplug();
        },
      };
    },
    end: terminal.end,
  };
}

async function tcpBench(everyS = 1): Promise<SourceBench> {
  const at = { host: '127.0.0.1', port: await freePort() };
  const line = { framing: 'tcp', at, repeatsNumber: true, everyS, timeoutS: TIMEOUT_S } as const;
  return {
    decoding: registers,
    input: (clock, chance) => oneOf(modbusLine(line, [{ name: 'one', blocks: [block] }], clock, chance)),
    async plugIn() {
      const device = await tcpDevice(at, slave(), systemClock());
      return { unplug: () => device.stop() };
    },
    end: async () => undefined,
  };
}

function oneOf(inputs: readonly Input[]): Input {
  const [input] = inputs;
  if (input === undefined) throw new Error('no input was made');
  return input;
}

function mqttBench(): Promise<SourceBench> {
  return brokerBench('3.1.1', async (port) => {
    const { close } = await startSmallBroker({ host: '127.0.0.1', port });
    return close;
  });
}

async function brokerBench(
  version: '3.1.1' | 5,
  startBroker: (port: number) => Promise<() => Promise<void>>,
): Promise<SourceBench> {
  const port = await freePort();
  const url = `mqtt://127.0.0.1:${port}`;
  return {
    decoding: { kind: 'topics', points: [{ gives: 'shelf', topic: 'kiln/shelf' }] },
    input: (clock, chance) => mqttTopics({ name: 'one', url, version, topics: ['kiln/shelf'] }, clock, chance),
    async plugIn() {
      const stopBroker = await startBroker(port);
      const board = await mqttDevice({ url, topicPrefix: 'kiln', qos: 0 });
      const say = (text: string): Promise<void> => board.publish('shelf', text).catch(() => undefined);
      const beat = setInterval(() => void say('648.5'), SAYS_EACH_MS);
      return {
        spoil: (bytes) => say(Buffer.from(bytes).toString('latin1')),
        async unplug() {
          clearInterval(beat);
          await board.stop();
          await stopBroker();
        },
      };
    },
    end: async () => undefined,
  };
}
