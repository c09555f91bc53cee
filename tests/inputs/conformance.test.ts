/**
 * What every source promises, whatever it speaks (requirement C24): the same cases over a real peer of each. They run on
 * a hurried clock, so that back-off does not take its minutes.
 */
import { readdirSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import { decodeRaw } from '../../daemon/core/reading/decode.ts';
import type { Reading } from '../../daemon/core/reading/reading.ts';
import type { Input } from '../../daemon/inputs/input.ts';
import { type AttentiveListener, attentiveListener } from '../support/attentive-listener.ts';
import { type HurriedClock, hurriedClock } from '../support/hurried-clock.ts';
import { type Instrument, possibleSources, type SourceBench } from '../support/source-benches.ts';

const HURRY = 40;
/** Requirement C9, with no chance in it. */
const BACK_OFF_MS = [1000, 2000, 4000, 8000, 16_000, 30_000, 30_000];
const SEED = 24;

describe.each(possibleSources())('$name (seed 24)', (kind) => {
  let bench: SourceBench;
  let clock: HurriedClock;
  let listener: AttentiveListener;
  let input: Input;
  let instrument: Instrument | undefined;

  beforeEach(async () => {
    bench = await kind.bench();
    clock = hurriedClock(HURRY);
    listener = attentiveListener();
    input = bench.input(clock, () => 0);
    instrument = undefined;
  });
  afterEach(async () => {
    await input.stop();
    await instrument?.unplug();
    await bench.end();
  });

  async function plugIn(): Promise<void> {
    instrument = await bench.plugIn();
  }
  async function unplug(): Promise<void> {
    await instrument?.unplug();
    instrument = undefined;
  }
  const connected = (from = 0) => listener.told((s) => s.state === 'connected', from);
  const lost = (from = 0) => listener.told((s) => s.state === 'lost', from);
  const heard = (from = 0) => listener.message((m) => readingsOf(m).length > 0, from);

  function readingsOf({ channel, text }: { channel?: string; text: string }): readonly Reading[] {
    const raw = { kind: 'raw', atMs: 0, input: 'one', text, ...(channel !== undefined && { channel }) } as const;
    const decoded = decodeRaw(raw, bench.decoding);
    return decoded.ok ? decoded.readings : [];
  }
  /** The waits between two tries, and no others. */
  const backOff = (): number[] => clock.asked.filter((ms) => BACK_OFF_MS.includes(ms));

  it('says that it begins, that it is connected, and hands on what the instrument said', async () => {
    await plugIn();
    input.start(listener);
    await heard();
    await connected();
    expect(listener.statuses.map((s) => s.state)).toEqual(['connecting', 'connected']);
    for (const message of listener.messages) {
      expect(readingsOf(message)).toEqual([{ kind: 'temperature', sensor: 'shelf', temperatureC: 648.5 }]);
      expect(message.retained ?? false).toBe(false);
    }
  });

  it('where nothing is there says so, and tries again after 1 to 30 s for ever', async () => {
    input.start(listener);
    await lost();
    while (backOff().length < BACK_OFF_MS.length) await nextTurn();
    expect(backOff().slice(0, BACK_OFF_MS.length)).toEqual(BACK_OFF_MS);
    expect(listener.messages).toEqual([]);
    expect(listener.statuses.map((s) => s.state)).toEqual(['connecting', 'lost']);
  });

  it('waits up to a fifth less by chance, so that six kilns do not knock in step', async () => {
    const other = bench.input(clock, () => 1);
    other.start(listener);
    try {
      await lost();
      while (!clock.asked.includes(1600)) await nextTurn();
      expect(clock.asked).toContain(800);
    } finally {
      await other.stop();
    }
  });

  it('finds an instrument that comes later', async () => {
    input.start(listener);
    await lost();
    await plugIn();
    await heard();
    await connected();
  });

  it('tells of the plug that was pulled, and hears the instrument again once it is back', async () => {
    await plugIn();
    input.start(listener);
    await heard();
    await connected();
    const toldBefore = listener.statuses.length;
    await unplug();
    await lost(toldBefore);
    const heardBefore = listener.messages.length;
    await plugIn();
    await heard(heardBefore);
    await connected(toldBefore);
    for (const message of listener.messages) {
      expect(readingsOf(message)).toEqual([{ kind: 'temperature', sensor: 'shelf', temperatureC: 648.5 }]);
    }
  });

  it('hears an instrument that is plugged in again and again, and nothing grows', async () => {
    input.start(listener);
    const ROUNDS = 8;
    const FIRST = 3;
    let files = 0;
    let timers = 0;
    for (let round = 1; round <= ROUNDS; round++) {
      const heardBefore = listener.messages.length;
      const toldBefore = listener.statuses.length;
      await plugIn();
      await heard(heardBefore);
      await connected(toldBefore);
      const toldThen = listener.statuses.length;
      await unplug();
      await lost(toldThen);
      if (round === FIRST) {
        files = openFiles();
        timers = clock.timerCount();
      }
    }
    // A try may be under way as they are counted: one file and its timers, not one of each round.
    expect(openFiles()).toBeLessThanOrEqual(files + 2);
    expect(clock.timerCount()).toBeLessThanOrEqual(timers + 2);
  });

  it('says each thing once, in sentences for the person at the kiln', async () => {
    input.start(listener);
    await lost();
    await plugIn();
    await heard();
    await connected();
    const before = listener.statuses.length;
    await unplug();
    await lost(before);
    const sentences = listener.statuses.map((s) => s.sentence);
    for (const sentence of sentences) {
      expect(sentence).toMatch(/^[A-Z0-9/[].{10,400}\.$/s);
      expect(sentence).not.toMatch(/undefined|null|\[object|Error|E[A-Z]{5,}|\n/);
    }
    expect(sentences.filter((sentence, i) => sentence === sentences[i - 1])).toEqual([]);
  });

  it('is silent once it is stopped, leaves no timer behind, and can be started anew', async () => {
    await plugIn();
    input.start(listener);
    await heard();
    await input.stop();
    expect(clock.timerCount()).toBe(0);
    const [messages, statuses] = [listener.messages.length, listener.statuses.length];
    const again = attentiveListener();
    input.start(again);
    await again.message((m) => readingsOf(m).length > 0);
    expect([listener.messages.length, listener.statuses.length]).toEqual([messages, statuses]);
  });

  it('can be stopped while it knocks, while it waits, and twice', async () => {
    input.start(listener);
    await input.stop();
    expect(clock.timerCount()).toBe(0);
    input.start(listener);
    await lost(listener.statuses.length);
    await input.stop();
    await input.stop();
    expect(clock.timerCount()).toBe(0);
  });

  it('runs once however often it is started', async () => {
    await plugIn();
    const second = attentiveListener();
    input.start(listener);
    input.start(second);
    await heard();
    expect(second.statuses).toEqual([]);
    await input.stop();
    expect(clock.timerCount()).toBe(0);
  });

  it('makes no temperature of noise, and hears the instrument after it', async () => {
    await plugIn();
    input.start(listener);
    await heard();
    const random = seededRandom(SEED);
    for (let burst = 0; burst < 20; burst++) {
      // Digits are left out: what looks like a number is for core to judge (core/noise-on-the-line.test.ts).
      const bytes = Uint8Array.from({ length: 200 }, () => 128 + Math.floor(random.next() * 128));
      await instrument?.spoil?.(bytes);
    }
    await heard(listener.messages.length);
    const figures = listener.messages
      .flatMap((m) => readingsOf(m))
      .flatMap((r) => (r.kind === 'temperature' ? [r.temperatureC] : []));
    expect(new Set(figures)).toEqual(new Set([648.5]));
  });
});

function nextTurn(): Promise<void> {
  return new Promise((resolve) => setImmediate(resolve));
}

function openFiles(): number {
  return readdirSync('/proc/self/fd').length;
}
