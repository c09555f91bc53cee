/**
 * `npm start`: the whole of Spyhole on a simulated kiln, for someone who sees it for the first time. The kiln speaks
 * real MQTT to a small broker on this machine; the daemon, the record and the page are the real ones. The clock runs
 * sixty times as fast and slows down where there is something to watch.
 *
 * With `--config FILE` it is the real watch instead.
 */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { untilToldToStop, watch } from '../daemon/commands/watch.ts';
import { parseHostPort } from '../daemon/config/host-port.ts';
import type { Config } from '../daemon/config/load.ts';
import { DaemonError } from '../daemon/errors.ts';
import { startSmallBroker } from '../daemon/inputs/small-broker.ts';
import { type RunningWatch, startWatch } from '../daemon/runtime/assemble.ts';
import { simulatedClock } from '../daemon/runtime/clock.ts';
import { stderrLog } from '../daemon/runtime/log.ts';
import type { LiveMessage } from '../daemon/wire/live-messages.ts';
import { demoFiring } from './demo-firing.ts';
import { type MqttDevice, mqttDevice, runKiln } from './mqtt-device.ts';
import type { OperatorAct } from './operator-hand.ts';

const USUAL_SPEED = 60;
/** At a warning, and for how many real milliseconds at the longest; a call is shorter. */
const WARNING = { speed: 8, forMs: 45_000 };
const CALL = { speed: 20, forMs: 9_000 };
/** Between two firings, in real milliseconds: time to look at the past one. */
const REST_MS = 120_000;
/** The board speaks each 5 s; but a quarter of a real second's delay is 15 s of the kiln's time, and no silence. */
const SAMPLE_S = 20;
/** The painter presses "I've seen it" this many real milliseconds after the call. */
const SEEN_AFTER_MS = 15_000;
const TOPIC = 'demo/kiln';
const PAINTER = 'the simulated painter';

/** A clock whose pace follows what happens. */
function pacedClock() {
  const clock = simulatedClock(USUAL_SPEED);
  let speed = USUAL_SPEED;
  let cancel: (() => void) | null = null;
  const go = (next: number): void => {
    speed = next;
    clock.setSpeed(next);
  };
  return {
    clock,
    speed: () => speed,
    slowTo(pace: { speed: number; forMs: number }): void {
      if (pace.speed > speed) return;
      cancel?.();
      go(pace.speed);
      cancel = clock.after(pace.forMs, () => go(USUAL_SPEED));
    },
    usual(): void {
      cancel?.();
      go(USUAL_SPEED);
    },
  };
}

type Paced = ReturnType<typeof pacedClock>;

function configFor(listen: Config['listen'], brokerPort: number, firing: ReturnType<typeof demoFiring>): Config {
  const names = [...firing.kiln.sensors.map((s) => s.name), 'lid'];
  const topics = names.map((name) => `${TOPIC}/${name}`);
  const channels = Object.fromEntries(names.map((name) => [`${TOPIC}/${name}`, name]));
  const { utcOffsetMinutes: _offset, ...kiln } = firing.kiln;
  return {
    file: 'the demonstration',
    listen,
    hosts: [],
    kilns: [
      {
        kiln: { ...kiln, sampleS: SAMPLE_S, decodings: { board: { kind: 'channels', channels } } },
        inputs: [{ kind: 'mqtt', name: 'board', url: `mqtt://127.0.0.1:${brokerPort}`, topics, simulated: true }],
      },
    ],
  };
}

/** What the painter does goes through the page's own interface, as if a person pressed it. */
async function press(url: string, path: string, body: object): Promise<void> {
  await fetch(`${url}/api/${path}`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', origin: url },
    body: JSON.stringify({ ...body, by: PAINTER }),
  }).catch(() => undefined);
}

function logAct(url: string, firingId: string, act: OperatorAct): Promise<void> {
  const value = act.value === undefined ? {} : { value: String(act.value) };
  return press(url, `firings/${firingId}/acts`, { what: act.what, ...value });
}

/** One firing from lighting to unloading. Resolves once the record is closed, with the way to stop the kiln's cooling. */
async function fireOnce(watched: RunningWatch, device: MqttDevice, paced: Paced, seed: number): Promise<() => void> {
  const { desk, url } = watched;
  const firing = demoFiring(seed, paced.clock.nowMs());
  const kilnId = firing.kiln.id;
  const { id } = await desk.begin(kilnId, firing.schedule, PAINTER);
  const stop = await new Promise<() => void>((resolve, reject) => {
    const running = runKiln(firing, device, paced.clock, ({ acts }) => {
      for (const act of acts) void logAct(url, id, act);
    });
    const stopListening = desk.listen((message: LiveMessage) => {
      if (message.type === 'alert') hearAlert(message);
      if (message.type === 'position' && message.calls.some((c) => c.state === 'due' && isNew(c.id)))
        paced.slowTo(CALL);
      if (message.type === 'kiln' && message.kiln === kilnId && message.now.firing === null) finish();
    });
    const called = new Set<string>();
    const isNew = (callId: string): boolean => !called.has(callId) && called.add(callId) !== undefined;
    function hearAlert(message: Extract<LiveMessage, { type: 'alert' }>): void {
      if (message.refresh === true) return;
      if (message.phase === 'over') paced.usual();
      else if (message.life === 'calling') {
        paced.slowTo(WARNING);
        firing.told(message.alert, message.phase);
        // The visitor may press first.
        paced.clock.after(SEEN_AFTER_MS, () => void press(url, `alerts/${message.id}/seen`, {}));
      }
    }
    function finish(): void {
      stopListening();
      resolve(() => running.stop());
    }
    running.done.catch((error: unknown) => {
      stopListening();
      reject(error);
    });
  });
  paced.usual();
  return stop;
}

async function demonstrate(listen: Config['listen']): Promise<void> {
  const log = stderrLog();
  const paced = pacedClock();
  const dataDir = await mkdtemp(join(tmpdir(), 'spyhole-demonstration-'));
  const broker = await startSmallBroker({ host: '127.0.0.1', port: 0 });
  const config = configFor(listen, broker.port, demoFiring(1, paced.clock.nowMs()));
  let watched: RunningWatch | null = null;
  let device: MqttDevice | null = null;
  try {
    watched = await startWatch({ config, dataDir, log, clock: paced.clock, speed: paced.speed });
    process.stdout.write(`listening ${watched.url}\n\n${welcome(watched.url)}\n`);
    device = await mqttDevice({ url: `mqtt://127.0.0.1:${broker.port}`, topicPrefix: TOPIC });
    fireForEver(watched, device, paced).catch((error: unknown) =>
      log(`The simulated kiln has stopped: ${String(error)}`),
    );
    await untilToldToStop();
  } finally {
    await device?.stop();
    await watched?.stop();
    await broker.close();
    await rm(dataDir, { recursive: true, force: true });
  }
}

async function fireForEver(watched: RunningWatch, device: MqttDevice, paced: Paced): Promise<never> {
  for (let seed = 1; ; seed++) {
    const stop = await fireOnce(watched, device, paced, seed);
    await new Promise<void>((resolve) => paced.clock.after(REST_MS, resolve));
    stop();
  }
}

function welcome(url: string): string {
  return [
    `Open ${url} in a browser. You see a SIMULATED gas kiln, fired by hand, sixty times as fast as a real one.`,
    'Within ten minutes: a climb, a call to the valve, an overshoot foreseen and averted, a hold, a door opened too hot,',
    'and the firing among the past ones. Press what you like: it is a demonstration. Ctrl-C ends it.',
    'Your own kiln: npm start -- --config FILE (see the README).',
  ].join('\n');
}

function option(name: string): string | undefined {
  const index = process.argv.indexOf(name);
  return index < 0 ? undefined : process.argv[index + 1];
}

async function main(): Promise<void> {
  const config = option('--config');
  const print = (line: string): void => void process.stdout.write(`${line}\n`);
  if (config !== undefined) {
    await watch({ config, data: option('--data'), listen: option('--listen') }, print);
    return;
  }
  const listen = parseHostPort(option('--listen') ?? '127.0.0.1:4660');
  if (listen === undefined) throw new DaemonError('usage', '--listen: write HOST:PORT, for example 127.0.0.1:4660.');
  await demonstrate(listen);
}

await main().then(
  () => process.exit(0),
  (error: unknown) => {
    process.stderr.write(`${error instanceof DaemonError ? error.message : `It failed: ${String(error)}`}\n`);
    process.exit(2);
  },
);
