import { connectAsync } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { brokerLink } from '../../daemon/inputs/broker-link.ts';
import { startSmallBroker } from '../../daemon/inputs/small-broker.ts';
import { type MqttOut, mqttOut } from '../../daemon/notifier/mqtt-out.ts';
import { lineTo } from '../support/cut-line.ts';
import { needs } from '../support/debian.ts';
import { type Hearer, hearerAt } from '../support/hearer.ts';
import { type ManualWaits, manualWaits } from '../support/manual-waits.ts';
import { mosquitto } from '../support/mosquitto.ts';
import { type ScriptedDesk, scriptedDesk } from '../support/scripted-desk.ts';

const brokers = [
  {
    name: 'the small broker, MQTT 3.1.1',
    version: '3.1.1' as const,
    start: async () => {
      const { port, close } = await startSmallBroker({ host: '127.0.0.1', port: 0 });
      return { port, stop: close };
    },
  },
  ...(needs('mosquitto')
    ? (['3.1.1', 5] as const).map((version) => ({
        name: `Mosquitto, MQTT ${version}`,
        version,
        start: () => mosquitto(),
      }))
    : []),
];

let toStop: (() => Promise<unknown>)[];
beforeEach(() => {
  toStop = [];
});
afterEach(async () => {
  for (const stop of toStop.reverse()) await stop();
});

describe.each(brokers)('what goes out to $name', ({ start, version }) => {
  interface Telling {
    readonly out: MqttOut;
    readonly desk: ScriptedDesk;
    readonly hearer: Hearer;
    readonly clock: ManualWaits;
    readonly log: string[];
    readonly cut: () => void;
    readonly port: number;
  }

  async function telling(): Promise<Telling> {
    const broker = await start();
    toStop.push(broker.stop);
    const hearer = await hearerAt(`mqtt://127.0.0.1:${broker.port}`, 'spyhole/#');
    toStop.push(hearer.stop);
    const line = await lineTo(broker.port);
    toStop.push(line.stop);
    const desk = scriptedDesk({ moment: 'overshoot' });
    const clock = manualWaits();
    const log: string[] = [];
    const options = { url: `mqtt://127.0.0.1:${line.port}`, version };
    const out = mqttOut({
      desk,
      log: (sentence) => log.push(sentence),
      speak: (listener, will) => brokerLink(options, clock, () => 0, listener, will),
    });
    toStop.push(() => out.stop());
    await hearer.said((s) => s.topic === 'spyhole/status' && s.text === 'ready');
    return { out, desk, hearer, clock, log, cut: line.cut, port: broker.port };
  }

  it('are the readings, the plan and the alerts, with the fields of the live feed', async () => {
    const { desk, hearer } = await telling();
    const [alert] = desk.snapshot(false).kilns.flatMap((kiln) => kiln.alerts);
    const standing = await hearer.said((s) => s.topic.includes('/alert/'));
    expect(standing).toEqual({ topic: `spyhole/gas/alert/${alert?.id}`, text: JSON.stringify(alert), retained: false });
    const live: unknown[] = [];
    const hush = desk.listen((message) => {
      if (message.type === 'reading' && message.kiln === 'gas' && message.sensor === 'upper') live.push(message);
    });
    desk.advance(5);
    hush();
    const reading = await hearer.said((s) => s.topic === 'spyhole/gas/reading/upper');
    expect([JSON.parse(reading.text)]).toEqual(live);
    expect(reading.retained).toBe(false);
    const plan = await hearer.said((s) => s.topic === 'spyhole/gas/plan');
    expect(JSON.parse(plan.text)).toMatchObject({ type: 'position', kiln: 'gas', sentence: expect.any(String) });
  });

  it('is its own state, which the broker keeps: ready while it runs, lost once it is stopped', async () => {
    const { out, port } = await telling();
    const first = await hearerAt(`mqtt://127.0.0.1:${port}`, 'spyhole/status');
    toStop.push(first.stop);
    expect(await first.said(() => true)).toEqual({ topic: 'spyhole/status', text: 'ready', retained: true });
    await out.stop();
    const later = await hearerAt(`mqtt://127.0.0.1:${port}`, 'spyhole/status');
    toStop.push(later.stop);
    expect(await later.said(() => true)).toEqual({ topic: 'spyhole/status', text: 'lost', retained: true });
  });

  it('is "lost" in its will when the line is cut, then "ready" again with what was missed', async () => {
    const { desk, hearer, clock, cut, out } = await telling();
    const alert = desk.snapshot(false).kilns[0]?.alerts[0];
    if (alert === undefined) throw new Error('no alert stands');
    const before = hearer.heard.length;
    cut();
    await hearer.said((s) => s.topic === 'spyhole/status' && s.text === 'lost', before);
    await expect.poll(() => out.trouble).toMatch(/^Nothing goes out over MQTT\. The broker .* (has gone|hung up)/);
    const ended = { ...alert, id: 'gas-x-9', phase: 'over' as const };
    desk.push({ ...ended, message: 'An earlier word.' });
    desk.push(ended);
    const lostAt = hearer.heard.length;
    await clock.passNextWait();
    await hearer.said((s) => s.topic === 'spyhole/status' && s.text === 'ready', lostAt);
    await hearer.said((s) => s.topic === `spyhole/gas/alert/${alert.id}`, lostAt);
    expect((await hearer.said((s) => s.topic === 'spyhole/gas/alert/gas-x-9', lostAt)).text).toBe(
      JSON.stringify(ended),
    );
    expect(out.trouble).toBeNull();
  });

  it('are the seals, which the broker keeps: the newest of each firing, said later where it was away', async () => {
    const { out, hearer, clock, cut, port } = await telling();
    out.seal('gas-x', 'the first');
    expect(await hearer.said((s) => s.topic === 'spyhole/seal/gas-x')).toMatchObject({ text: 'the first' });
    const before = hearer.heard.length;
    cut();
    await hearer.said((s) => s.topic === 'spyhole/status' && s.text === 'lost', before);
    await expect.poll(() => out.trouble).not.toBeNull();
    out.seal('gas-x', 'the second');
    out.seal('gas-x', 'the third');
    await clock.passNextWait();
    await hearer.said((s) => s.topic === 'spyhole/seal/gas-x', before);
    const later = await hearerAt(`mqtt://127.0.0.1:${port}`, 'spyhole/seal/#');
    toStop.push(later.stop);
    expect(await later.said(() => true)).toEqual({ topic: 'spyhole/seal/gas-x', text: 'the third', retained: true });
  });

  it('stays "ready" though the will of an earlier line is carried out late', async () => {
    const { hearer, port } = await telling();
    const old = await connectAsync(`mqtt://127.0.0.1:${port}`, { reconnectPeriod: 0 });
    toStop.push(() => old.endAsync(true));
    const before = hearer.heard.length;
    await old.publishAsync('spyhole/status', 'lost', { qos: 1, retain: true });
    await hearer.said((s) => s.text === 'ready', before);
    const later = await hearerAt(`mqtt://127.0.0.1:${port}`, 'spyhole/status');
    toStop.push(later.stop);
    expect((await later.said(() => true)).text).toBe('ready');
  });
});

it('keeps only the newest two hundred alerts while there is no broker, and no reading', async () => {
  const desk = scriptedDesk({ moment: 'overshoot' });
  const alert = desk.snapshot(false).kilns[0]?.alerts[0];
  if (alert === undefined) throw new Error('no alert stands');
  const said: string[] = [];
  let listener: Parameters<Parameters<typeof mqttOut>[0]['speak']>[0] | undefined;
  const out = mqttOut({
    desk,
    log: () => {},
    speak: (heard) => {
      listener = heard;
      return { stop: async () => {} };
    },
  });
  desk.advance(50);
  for (let i = 0; i < 1000; i++) desk.push({ ...alert, id: `a${i % 500}` });
  const session = {
    subscribe: async () => [],
    say: (s: { topic: string }) => said.push(s.topic),
    waitingBytes: () => 0,
  };
  listener?.open(session);
  const alerts = said.filter((topic) => topic.startsWith('spyhole/gas/alert/a'));
  expect(alerts).toHaveLength(200);
  expect(alerts[199]).toBe('spyhole/gas/alert/a499');
  expect(said.filter((topic) => topic.includes('/reading/'))).toEqual([]);
  await out.stop();
});
