/** What a network may do to a board's messages changes neither what is known nor what is called (requirements C11 to C13). */
import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import type { SampleEvent } from '../../daemon/core/events.ts';
import type { RawMessage } from '../../daemon/core/inputs.ts';
import { atS, begin, climbOfMatt, type Fed, feed, kilnOf, matt, stagesOf } from './feeding.ts';

const kiln = kilnOf({
  decodings: {
    'mqtt-1': {
      kind: 'topics',
      points: [
        { gives: 'shelf', topic: 'kiln', path: 'c', timePath: 'at' },
        { gives: 'lid', topic: 'kiln', path: 'lid', timePath: 'at' },
      ],
    },
    plain: { kind: 'topics', points: [{ gives: 'shelf', topic: 'kiln' }] },
  },
});

const said = (saidS: number, arrivedS = saidS, more: object = {}): RawMessage => ({
  kind: 'raw',
  atMs: atS(arrivedS),
  input: 'mqtt-1',
  channel: 'kiln',
  text: JSON.stringify({ c: Number(climbOfMatt(saidS).toFixed(2)), at: atS(saidS), ...more }),
});
const plain = (seconds: number, celsius: number, ms = 0): RawMessage => ({
  kind: 'raw',
  atMs: atS(seconds) + ms,
  input: 'plain',
  channel: 'kiln',
  text: celsius.toFixed(2),
});
const everyTenS = (fromS: number, toS: number): number[] =>
  Array.from({ length: Math.floor((toS - fromS) / 10) + 1 }, (_, i) => fromS + 10 * i);
const samplesOf = ({ events }: Fed): SampleEvent[] =>
  events.filter((event): event is SampleEvent => event.type === 'reading');
const goodOf = (fed: Fed): SampleEvent[] => samplesOf(fed).filter((sample) => sample.quality === 'good');

test('a reading stands where it was measured, and says when it arrived', () => {
  const fed = feed(begin(matt, kiln), [said(0), said(10, 10), said(20, 27)]);
  expect(samplesOf(fed).map(({ atMs, arrivedAtMs, quality }) => [atMs, arrivedAtMs, quality])).toEqual([
    [atS(0), undefined, 'good'],
    [atS(10), undefined, 'good'],
    [atS(20), atS(27), 'good'],
  ]);
});

describe('messages doubled, delayed and swapped by a network', () => {
  it('never make a false reading, nor an alert', () => {
    const seconds = everyTenS(0, 1800);
    const ways = fc.array(fc.record({ delayS: fc.nat({ max: 25 }), copies: fc.integer({ min: 1, max: 3 }) }), {
      minLength: seconds.length,
      maxLength: seconds.length,
    });
    fc.assert(
      fc.property(ways, (how) => {
        const messages = seconds
          .flatMap((s, i) => {
            const { delayS = 0, copies = 1 } = how[i] ?? {};
            // A copy comes with its own delay.
            return Array.from({ length: copies }, (_, copy) => said(s, s + (i === 0 ? 0 : (delayS + 7 * copy) % 26)));
          })
          .sort((a, b) => a.atMs - b.atMs);
        const fed = feed(begin(matt, kiln), messages);
        const good = goodOf(fed);
        for (const { atMs, celsius } of good) {
          expect(celsius).toBeCloseTo(climbOfMatt((atMs - atS(0)) / 1000), 1);
        }
        for (const [i, sample] of good.entries())
          if (i > 0) expect(sample.atMs).toBeGreaterThan(good[i - 1]?.atMs ?? 0);
        // What comes late is missed meanwhile.
        expect(stagesOf(fed).filter((stage) => !stage.startsWith('silence'))).toEqual([]);
      }),
      { seed: 11, numRuns: 10, endOnFailure: true },
    );
  });

  it('leave the lid as it was said last', () => {
    const fed = feed(begin(matt, kiln), [
      said(0),
      said(10, 12, { lid: 'closed' }),
      said(14, 16, { lid: 'closed' }),
      said(13, 17, { lid: 'open' }),
      said(14, 18, { lid: 'closed' }),
    ]);
    expect(fed.state.lid).toMatchObject({ open: false });
    expect(fed.events.filter((event) => event.type === 'lid')).toHaveLength(1);
  });
});

test('two hundred messages that a board kept for an outage come at once: they are filed as late, and call nobody', () => {
  const before = everyTenS(0, 3000).map((s) => said(s));
  const backlog = everyTenS(3010, 5000).map((s, i) => ({ ...said(s, 5005), atMs: atS(5005) + Math.floor(i / 4) }));
  const after = everyTenS(5010, 5400).map((s) => said(s));
  const quiet = feed(begin(matt, kiln), before);
  const fed = feed({ ...quiet, events: [] }, [...backlog, ...after]);
  const late = samplesOf(fed).filter((sample) => sample.quality === 'late');
  // The last three are young enough to be of now.
  expect(late.length).toBe(backlog.length - 3);
  expect(stagesOf(fed).filter((stage) => !stage.startsWith('silence'))).toEqual([]);
});

test('a board whose clock is slow is watched by when its readings come, and its clock is told of once', () => {
  const slow = everyTenS(0, 1800).map((s) => {
    const message = said(s);
    return { ...message, text: JSON.stringify({ c: Number(climbOfMatt(s).toFixed(2)), at: atS(s) - 90_000 }) };
  });
  const fed = feed(begin(matt, kiln), slow);
  const good = goodOf(fed);
  expect(good.length).toBe(slow.length - 3);
  for (const { atMs, celsius } of good) expect(celsius).toBeCloseTo(climbOfMatt((atMs - atS(0)) / 1000), 1);
  expect(stagesOf(fed).filter((stage) => !stage.startsWith('silence'))).toEqual(['clock-trouble happening']);
  const alert = fed.events.find((event) => event.type === 'alert' && event.alert === 'clock-trouble');
  expect(alert).toMatchObject({
    priority: 'note',
    message:
      "The board's clock is 2 minutes slow. The kiln is watched by when its readings come; set that clock, or leave timePath out of the configuration.",
  });
});

test('a backlog of a board without a clock foresees no overshoot, and calls neither a climb too fast nor a clock', () => {
  const before = everyTenS(0, 3000).map((s) => plain(s, climbOfMatt(s)));
  const backlog = everyTenS(3010, 3300).map((s, i) => plain(3305, climbOfMatt(s), Math.floor(i / 4)));
  const after = everyTenS(3310, 3900).map((s) => plain(s, climbOfMatt(s)));
  const fed = feed(begin(matt, kiln), [...before, ...backlog, ...after]);
  const stages = stagesOf(fed);
  expect(stages.slice(0, 2)).toEqual(['silence happening', 'silence over']);
  expect(stages.filter((stage) => /^(overshoot|heating-too-fast|clock-trouble|sensor-fault)/.test(stage))).toEqual([]);
});

test('what a board whose clock was never set had kept back is of earlier, as the pace of its coming says', () => {
  const uptime = (message: RawMessage, s: number): RawMessage => ({
    ...message,
    text: JSON.stringify({ c: Number(climbOfMatt(s).toFixed(2)), at: s * 1000 }),
  });
  const before = everyTenS(0, 600).map((s) => uptime(said(s), s));
  const backlog = everyTenS(610, 900).map((s) => ({ ...uptime(said(s, 905), s), keptBack: true }));
  const after = everyTenS(910, 1200).map((s) => uptime(said(s), s));
  const fed = feed(begin(matt, kiln), [...before, ...backlog, ...after]);
  expect(samplesOf(fed).filter(({ quality }) => quality === 'late')).toHaveLength(backlog.length);
  for (const { atMs, celsius } of goodOf(fed)) expect(celsius).toBeCloseTo(climbOfMatt((atMs - atS(0)) / 1000), 1);
});

test('a leap that came twice is still one leap', () => {
  const steady = everyTenS(0, 300).map((s) => plain(s, 400));
  const twice = [plain(310, 900), plain(310, 900, 40)];
  const fed = feed(begin(null, kiln), [...steady, ...twice, plain(320, 400)]);
  expect(goodOf(fed).every((sample) => sample.celsius === 400)).toBe(true);
});

test('an old value that a broker kept is no reading, whatever it says of its time', () => {
  const kept: RawMessage = { ...said(0, 1), text: JSON.stringify({ c: 1234, at: atS(1) }), retained: true };
  const fed = feed(begin(null, kiln), [kept]);
  expect(goodOf(fed)).toEqual([]);
  expect(fed.state.saidClocks).toEqual({});
});
