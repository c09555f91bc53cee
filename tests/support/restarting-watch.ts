/** A whole watch over one kiln behind a real broker, on a clock that the test moves; it can be stopped and started again. */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { KilnConfig } from '../../daemon/config/load.ts';
import { startSmallBroker } from '../../daemon/inputs/small-broker.ts';
import { type RunningWatch, startWatch } from '../../daemon/runtime/assemble.ts';
import type { KilnNow, LiveMessage } from '../../daemon/wire/live-messages.ts';
import { mqttDevice } from '../../simulators/mqtt-device.ts';
import { type ManualClock, manualClock } from './manual-clock.ts';

export interface RestartingWatch {
  readonly dataDir: string;
  readonly log: readonly string[];
  /** All that the watch has told since it was started last. */
  readonly told: readonly LiveMessage[];
  readonly kilnId: string;
  watch(): RunningWatch;
  now(): KilnNow;
  clock(): ManualClock;
  /** Starts it; the first time at a fixed hour, later so many seconds after it stopped. */
  start(awayS?: number, kiln?: Partial<KilnConfig['kiln']>): Promise<void>;
  stop(): Promise<void>;
  /** Publishes each temperature a second after the one before, and waits until it is told. */
  feed(...celsius: readonly number[]): Promise<void>;
  /** Resolves with the first message told since the start that is `wanted`. */
  heard<T extends LiveMessage>(wanted: (message: LiveMessage) => message is T): Promise<T>;
  end(): Promise<void>;
}

const SENSOR = 'middle';
const TOPIC = 'studio/kiln';

export async function restartingWatch(): Promise<RestartingWatch> {
  const dataDir = await mkdtemp(join(tmpdir(), 'spyhole-restart-'));
  const broker = await startSmallBroker({ host: '127.0.0.1', port: 0 });
  const url = `mqtt://127.0.0.1:${broker.port}`;
  const board = await mqttDevice({ url, topicPrefix: TOPIC });
  const log: string[] = [];
  let told: LiveMessage[] = [];
  const looks = new Set<() => void>();
  let clock = manualClock();
  let running: RunningWatch | null = null;

  const heard = <T extends LiveMessage>(wanted: (message: LiveMessage) => message is T): Promise<T> =>
    new Promise((resolve) => {
      let at = 0;
      const look = (): void => {
        for (; at < told.length; at++) {
          const message = told[at];
          if (message === undefined || !wanted(message)) continue;
          looks.delete(look);
          resolve(message);
          return;
        }
      };
      looks.add(look);
      look();
    });
  const watch = (): RunningWatch => {
    if (running === null) throw new Error('the watch is not running');
    return running;
  };
  const now = (): KilnNow => {
    const kiln = watch().desk.snapshot(true).kilns[0];
    if (kiln === undefined) throw new Error('there is no kiln');
    return kiln;
  };
  const stop = async (): Promise<void> => {
    await running?.stop();
    running = null;
  };

  return {
    dataDir,
    log,
    get told() {
      return told;
    },
    kilnId: 'small-gas',
    watch,
    now,
    clock: () => clock,
    async start(awayS = 0, changed = {}) {
      clock = manualClock(clock.nowMs() + awayS * 1000);
      told = [];
      const kiln: KilnConfig['kiln'] = {
        id: 'small-gas',
        name: 'Small gas kiln',
        heat: 'gas',
        closure: 'door',
        sampleS: 1,
        sensors: [{ name: SENSOR, letter: 'K' }],
        decodings: { 'mqtt-1': { kind: 'channels', channels: { [`${TOPIC}/${SENSOR}`]: SENSOR } } },
        ...changed,
      };
      const logged = log.length;
      running = await startWatch({
        config: {
          file: 'the test',
          listen: { host: '127.0.0.1', port: 0 },
          hosts: [],
          kilns: [
            { kiln, inputs: [{ kind: 'mqtt', name: 'mqtt-1', url, topics: [`${TOPIC}/${SENSOR}`], simulated: false }] },
          ],
        },
        dataDir,
        clock,
        log(sentence) {
          log.push(sentence);
          for (const look of [...looks]) look();
        },
      });
      running.desk.listen((message) => {
        told.push(message);
        for (const look of [...looks]) look();
      });
      await new Promise<void>((resolve) => {
        const look = (): void => {
          if (!log.slice(logged).some((line) => line.includes('Listening to'))) return;
          looks.delete(look);
          resolve();
        };
        looks.add(look);
        look();
      });
    },
    stop,
    async feed(...celsius) {
      for (const one of celsius) {
        clock.pass(1000);
        const atMs = clock.nowMs();
        await board.reading({ atMs, sensor: SENSOR, celsius: one });
        await heard((m): m is Extract<LiveMessage, { type: 'reading' }> => m.type === 'reading' && m.atMs === atMs);
      }
    },
    heard,
    async end() {
      await stop();
      await board.stop();
      await broker.close();
      await rm(dataDir, { recursive: true, force: true });
    },
  };
}
