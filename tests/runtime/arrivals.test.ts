/** What a board or a network kept back and brings all at once, beside what is said now (requirement C12). */
import { connectAsync } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { mqttTopics } from '../../daemon/inputs/mqtt-topics.ts';
import { type Arrivals, type Arrived, arrivals } from '../../daemon/runtime/arrivals.ts';
import { attentiveListener } from '../support/attentive-listener.ts';
import { needs } from '../support/debian.ts';
import { type LoopBench, loopBench, mattPlan } from '../support/loop-bench.ts';
import { type ManualClock, manualClock } from '../support/manual-clock.ts';
import { mosquitto } from '../support/mosquitto.ts';

describe('what an instrument says', () => {
  let clock: ManualClock;
  let handed: Arrived[];
  let sieve: Arrivals;
  beforeEach(() => {
    clock = manualClock();
    handed = [];
    sieve = arrivals(clock, (message) => handed.push(message));
  });
  const say = (text: string, afterMs: number, channel?: string): void => {
    clock.pass(afterMs);
    sieve.heard({ text, ...(channel !== undefined && { channel }) });
  };
  const now = (): string[] => handed.filter((one) => one.keptBack !== true).map(({ text }) => text);

  it('at its usual pace is handed on at once', () => {
    for (let i = 0; i < 10; i++) {
      say(String(i), i % 3 === 0 ? 1300 : 900);
      expect(handed.at(-1)).toEqual({ text: String(i) });
    }
    expect(clock.timerCount()).toBe(0);
  });

  it('in a burst behind a pause is of earlier, but for the last of it', () => {
    for (let i = 0; i < 5; i++) say(`a${i}`, 1000);
    say('b0', 60_000);
    for (let i = 1; i < 60; i++) say(`b${i}`, i % 4 === 0 ? 1 : 0);
    say('c', 1000);
    expect(now()).toEqual(['a0', 'a1', 'a2', 'a3', 'a4', 'b59', 'c']);
    expect(handed).toHaveLength(66);
    expect(handed.map(({ text }) => text).slice(5, 65)).toEqual(Array.from({ length: 60 }, (_, i) => `b${i}`));
  });

  it('once behind a pause is of now, a moment later', () => {
    for (let i = 0; i < 5; i++) say('650', 1000);
    say('655', 20_000);
    expect(handed).toHaveLength(5);
    clock.pass(400);
    expect(handed.at(-1)).toEqual({ text: '655' });
    say('656', 600);
    expect(now()).toHaveLength(7);
  });

  it('is told apart by topic, and what a broker kept waits for nothing', () => {
    for (let i = 0; i < 5; i++) {
      say('1', 500, 'a');
      say('2', 500, 'b');
    }
    say('1', 60_000, 'a');
    say('2', 0, 'b');
    sieve.heard({ channel: 'a', text: '9', retained: true });
    expect(handed.at(-1)).toEqual({ channel: 'a', text: '9', retained: true });
    sieve.stop();
    expect(now()).toHaveLength(13);
    expect(clock.timerCount()).toBe(0);
  });

  it('in several lines at a time, as some instruments print, goes on being heard', () => {
    for (let i = 0; i < 8; i++) for (const name of ['T1', 'T2', 'T3']) say(`${name}=${i}`, name === 'T1' ? 960 : 20);
    expect(now()).toHaveLength(24);
  });
});

describe.runIf(needs('mosquitto'))('a board that kept its readings while the network was gone', () => {
  let toStop: (() => Promise<unknown>)[];
  let bench: LoopBench;
  beforeEach(async () => {
    toStop = [];
    bench = await loopBench();
    toStop.push(bench.end);
  });
  afterEach(async () => {
    for (const stop of toStop.reverse()) await stop();
  });

  it.each(['3.1.1', 5] as const)(
    'brings them through a real broker, MQTT %s, and nobody is called',
    async (version) => {
      const { loop, clock, told } = bench;
      const broker = await mosquitto();
      toStop.push(broker.stop);
      const url = `mqtt://127.0.0.1:${broker.port}`;
      const input = mqttTopics({ name: 'serial-1', url, version, topics: ['kiln/middle'] }, clock);
      toStop.push(() => input.stop());
      const listener = attentiveListener();
      const sieve = arrivals(clock, (message) => loop.heard('serial-1', { text: message.text, ...kept(message) }));
      input.start({
        heard(message) {
          sieve.heard(message);
          listener.heard(message);
        },
        status: listener.status,
      });
      await listener.told((s) => s.state === 'connected');
      const board = await connectAsync(url, { reconnectPeriod: 0 });
      toStop.push(() => board.endAsync(true));
      const say = async (celsius: readonly number[]): Promise<void> => {
        const from = listener.messages.length;
        await Promise.all(celsius.map((one) => board.publishAsync('kiln/middle', one.toFixed(2), { qos: 1 })));
        await listener.message(() => listener.messages.length >= from + celsius.length);
      };
      // 600 °C/h, a reading every five seconds.
      const at = (s: number): number => 300 + s / 6;
      await loop.begin(mattPlan, 'test');
      for (let s = 0; s <= 900; s += 5) {
        await say([at(s)]);
        clock.pass(5000);
        await loop.settled();
      }
      // Ten minutes without Wi-Fi, in which the kiln goes on climbing. All at once it looks like a climb that breaks off.
      const backlog = Array.from({ length: 120 }, (_, i) => at(905 + 5 * i));
      clock.pass(600_000);
      await say(backlog);
      clock.pass(5000);
      await loop.settled();
      for (let s = 1505; s < 1800; s += 5) {
        await say([at(s)]);
        clock.pass(5000);
        await loop.settled();
      }
      const readings = told.flatMap(({ event }) => (event.type === 'reading' ? [event] : []));
      expect(readings.filter((one) => one.quality === 'late')).toHaveLength(backlog.length - 1);
      const alerts = told.flatMap(({ event }) => (event.type === 'alert' ? [event.alert] : []));
      expect([...new Set(alerts)]).toEqual(['silence']);
    },
  );
});

const kept = ({ keptBack }: Arrived): Pick<Arrived, 'keptBack'> => (keptBack === true ? { keptBack } : {});
