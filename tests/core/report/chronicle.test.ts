import { describe, expect, it } from 'vitest';
import type { FiringEvent } from '../../../daemon/core/events.ts';
import { type Chronicle, chronicle, newChronicle } from '../../../daemon/core/report/chronicle.ts';
import { summarise } from '../../../daemon/core/report/summary.ts';
import { thinCurve } from '../../../daemon/core/report/thin-curve.ts';
import { atS, begin, curve, deed, feed, lid, line, matt, START_MS } from '../feeding.ts';

function storyOf(events: readonly FiringEvent[]): Chronicle {
  const story = newChronicle(START_MS, matt);
  for (const event of events) chronicle(story, event);
  return story;
}
/** Readings at these seconds. */
const stretchesOf = (...seconds: number[]): number[][] => {
  const story = storyOf(
    seconds.map((s) => ({
      type: 'reading',
      atMs: atS(s),
      sensor: 'shelf',
      celsius: 600,
      uncertaintyC: 4.5,
      quality: 'good',
    })),
  );
  const trace = story.traces.get('shelf') ?? { atMs: [], celsius: [] };
  return thinCurve(trace, START_MS, atS(10_000), 100_000).map((s) => s.map(([atMs]) => (atMs - START_MS) / 1000));
};

describe('the story of a firing', () => {
  const climb = (s: number): number => (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30);
  const fed = feed(begin(), [
    ...curve(0, 13_000, climb),
    deed(13_005, { deed: 'act', what: 'valve', value: 'mark 3' }),
    deed(13_006, { deed: 'note', text: 'The blue is thick.' }),
    // Under a flame it never stands quite still.
    ...curve(13_010, 13_800, (s) => 660 + 0.4 * Math.sin(s / 40)),
  ]);
  const story = storyOf(fed.events);

  it('holds the curve, the hottest, the acts, the notes and each alert once, as it stands', () => {
    expect(story.readings).toBe(fed.state.readingCount);
    expect(story.peakC.get('shelf')).toBe(fed.state.sensors.shelf?.peakC);
    expect(story.acts.map((a) => a.what)).toEqual(['valve']);
    expect(story.notes.map((n) => n.text)).toEqual(['The blue is thick.']);
    expect([...story.alerts.values()].map((a) => [a.alert, a.phase])).toContainEqual(['overshoot', 'over']);
    expect(Object.fromEntries(story.alertCounts)).toEqual(fed.state.alertCounts);
  });

  it('in figures: hottest, minutes in band, alerts by kind, readings and what was refused', () => {
    expect(summarise(fed.state)).toEqual({
      peakC: { shelf: climb(13_000) > 668 ? Math.round(climb(13_000) * 100) / 100 : 0 },
      holds: [{ segment: 2, plannedMinutes: 15, inBandMinutes: expect.any(Number) }],
      alerts: expect.objectContaining({ overshoot: 1 }),
      readings: fed.state.readingCount,
      rejected: 0,
    });
    const inBand = summarise(fed.state).holds[0]?.inBandMinutes ?? 0;
    // In the hold from 12 690 s, out of band from 12 940 to 13 010: 860 s of 15 minutes.
    expect(inBand).toBeGreaterThan(13);
    expect(inBand).toBeLessThanOrEqual(15.2);
  });

  it('counts as refused what was no reading', () => {
    const odd = feed(begin(), [
      ...line({ fromS: 0, toS: 60, fromC: 20, rateCPerH: 240 }),
      { kind: 'raw', atMs: atS(61), input: 'rows', channel: 'shelf', text: 'x' },
      { kind: 'raw', atMs: atS(62), input: 'rows', channel: 'shelf', text: '' },
      { kind: 'raw', atMs: atS(63), input: 'rows', channel: 'top', text: '20' },
      { kind: 'raw', atMs: atS(64), input: 'elsewhere', text: '20' },
    ]);
    expect(summarise(odd.state)).toMatchObject({ readings: 7, rejected: 4 });
    expect(odd.events.filter((e) => e.type === 'rejected').map((e) => e.sentence)).toEqual([
      'shelf said "x", which is no temperature.',
      'This kiln has no sensor top.',
      "Input elsewhere is not one of this kiln's inputs.",
    ]);
  });

  it('remembers who ended it', () => {
    const ended = storyOf(feed(fed, [deed(13_900, { deed: 'end' })]).events);
    expect(ended).toMatchObject({ endedAtMs: atS(13_900), endedBy: 'painter', endedWhy: 'ended by hand' });
  });

  it('marks the gap of a daemon that was away, and the lid', () => {
    const away = feed(begin(), [
      ...line({ fromS: 0, toS: 600, fromC: 20, rateCPerH: 240 }),
      { kind: 'edge', atMs: atS(900), edge: 'restarted', awayS: 295 },
      lid(901, true),
    ]);
    expect(storyOf(away.events).gaps).toMatchObject([{ fromMs: atS(605), atMs: atS(900), why: 'the daemon was away' }]);
    expect(away.events.filter((e) => e.type === 'lid')).toEqual([{ type: 'lid', atMs: atS(901), open: true }]);
  });
});

describe('the curve of one sensor', () => {
  it('breaks where nothing was heard for a minute, and not where the readings are sparse', () => {
    expect(stretchesOf(0, 10, 20, 200, 210)).toEqual([
      [0, 10, 20],
      [200, 210],
    ]);
    expect(stretchesOf(0, 10, 20, 75, 85)).toEqual([[0, 10, 20, 75, 85]]);
    expect(stretchesOf(0, 60, 120, 180, 240)).toEqual([[0, 60, 120, 180, 240]]);
  });

  it('breaks at each of two silences with a single reading between them', () => {
    expect(stretchesOf(0, 10, 20, 400, 800, 810)).toEqual([[0, 10, 20], [400], [800, 810]]);
  });
});
