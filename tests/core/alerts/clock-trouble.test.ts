import { describe, expect, it } from 'vitest';
import type { RawMessage } from '../../../daemon/core/inputs.ts';
import { atS, begin, climbOfMatt, curve, type Fed, feed, START_MS, stagedAlerts } from '../feeding.ts';

const TROUBLE_S = 8000;
const told = (fed: Fed) => stagedAlerts(fed).filter((a) => a.alert === 'clock-trouble');
const sound = (everyS = 5) => curve(0, TROUBLE_S, climbOfMatt, everyS);
/** Readings of the true kiln, with stamps as `stamp` makes them. */
const stamped = (forS: number, stamp: (s: number) => number, everyS = 5): RawMessage[] =>
  curve(TROUBLE_S + everyS, TROUBLE_S + forS, climbOfMatt, everyS).map((r) => ({
    ...r,
    atMs: atS(stamp((r.atMs - START_MS) / 1000)),
  }));

describe("the instrument's clock", () => {
  it('that stands is told, and over once it runs again', () => {
    const runs = curve(TROUBLE_S + 605, TROUBLE_S + 700, climbOfMatt, 5);
    const fed = feed(begin(), [...sound(), ...stamped(600, () => TROUBLE_S), ...runs]);
    expect(told(fed).map((a) => a.phase)).toEqual(['happening', 'over']);
    expect(told(fed)[0]?.message).toMatch(/clock stands\. Look at it/);
  });

  it('that was set back is told with how far', () => {
    const [alert] = told(feed(begin(), [...sound(), ...stamped(600, (s) => s - 3300)]));
    expect(alert).toMatchObject({ phase: 'happening', priority: 'soon' });
    expect(alert?.message).toContain('went back by 55 minutes');
  });

  it('that was set back by a few readings only is told as well, where they are sparse', () => {
    const [alert] = told(feed(begin(), [...sound(30), ...stamped(600, (s) => s - 124, 30)]));
    expect(alert).toMatchObject({ phase: 'happening', priority: 'soon' });
  });

  it('that leapt ahead is told as soon as the kiln is seen not to have gone on', () => {
    const fed = feed(begin(), [...sound(), ...stamped(900, (s) => s + 3600)]);
    expect(told(fed).map((a) => a.phase)).toEqual(['happening', 'over']);
    expect(told(fed)[0]?.message).toContain('leapt 60 minutes ahead');
  });

  it('that leapt ahead by less than the kiln needs to show it at once is told by the way that goes on as before', () => {
    const fed = feed(begin(), [...sound(), ...stamped(600, (s) => s + 150)]);
    expect(told(fed).map((a) => a.phase)).toEqual(['happening']);
    expect(told(fed)[0]?.message).toContain('leapt 3 minutes ahead');
    expect((told(fed)[0]?.atMs ?? 0) - atS(TROUBLE_S + 150)).toBeLessThan(180_000);
  });

  it('is not blamed for a pause after which the kiln goes on from where it was, but not as it went', () => {
    const pause = curve(TROUBLE_S + 125, TROUBLE_S + 600, (s) => climbOfMatt(TROUBLE_S + (s - TROUBLE_S - 120) / 3), 5);
    expect(told(feed(begin(), [...sound(), ...pause]))).toEqual([]);
  });

  it('makes the firing neither late nor early where it leapt: the plan goes on from where it was', () => {
    for (const byS of [3600, -1800]) {
      // Well past the minutes that the clock has to catch up with.
      const fed = feed(begin(), [...sound(), ...stamped(3900, (s) => s + byS)]);
      const others = stagedAlerts(fed).filter((a) => !['clock-trouble', 'silence'].includes(a.alert));
      expect(others).toEqual([]);
      const position = fed.events.findLast((e) => e.type === 'position');
      expect(Math.abs(position?.type === 'position' ? (position.deviationC ?? 99) : 99)).toBeLessThan(3);
    }
  });

  it('that was set back blinds nobody: what goes wrong within that hour is told as it comes', () => {
    const offS = TROUBLE_S + 900;
    const goesOut = (s: number) => climbOfMatt(Math.min(s, offS)) - Math.max(s - offS, 0) / 8;
    const rows = curve(TROUBLE_S + 5, TROUBLE_S + 1500, goesOut, 5).map((r) => ({ ...r, atMs: r.atMs - 3_600_000 }));
    const fed = feed(begin(), [...sound(), ...rows]);
    const lost = stagedAlerts(fed).find((a) => a.alert === 'heat-lost');
    expect(((lost?.atMs ?? 0) - START_MS) / 1000 - offS).toBeLessThan(120);
    expect(stagedAlerts(fed).map((a) => a.alert)).not.toContain('silence');
  });

  it('that was set back and then right again is followed both ways', () => {
    const rows = stamped(900, (s) => (s < TROUBLE_S + 600 ? s - 3600 : s));
    const fed = feed(begin(), [...sound(), ...rows]);
    expect(stagedAlerts(fed).filter((a) => a.alert !== 'clock-trouble')).toEqual([]);
    expect(fed.state.nowMs).toBe(atS(TROUBLE_S + 900));
  });

  it('is not blamed for a pause in which the kiln went on', () => {
    const pause = curve(TROUBLE_S + 1800, TROUBLE_S + 2400, climbOfMatt, 5);
    expect(told(feed(begin(), [...sound(), ...pause]))).toEqual([]);
  });

  it('is not blamed for a pause in which a steep fall has come to its end', () => {
    const falls = (s: number): number => climbOfMatt(s) - Math.min(Math.max(s - 13_700, 0) / 4, 115);
    const fed = feed(begin(), [...curve(0, 14_000, falls, 5), ...curve(16_400, 16_500, falls, 5)]);
    expect(told(fed)).toEqual([]);
  });

  it('is not blamed for figures that stay where they were because the couple is frozen', () => {
    const noisy = sound().map((r, i) => ({ ...r, text: String(Number(r.text) + ([0, 0.3, -0.2, 0.1][i % 4] ?? 0)) }));
    const last = noisy[noisy.length - 1]?.text ?? '';
    const frozen = stamped(2400, (s) => s).map((r) => ({ ...r, text: last }));
    const fed = feed(begin(), [...noisy, ...frozen]);
    expect(told(fed)).toEqual([]);
    expect(stagedAlerts(fed).map((a) => `${a.alert} ${a.cause}`)).toContain('sensor-fault frozen');
  });

  it('is well where readings are doubled, swapped, or stamped to the minute', () => {
    const rows = sound();
    const swapped = rows.map((r, i) => rows[i % 20 === 7 ? i + 1 : i % 20 === 8 ? i - 1 : i] ?? r);
    const doubled = rows.flatMap((r, i) => (i % 9 === 0 ? [r, r] : [r]));
    const minutes = rows.map((r) => ({ ...r, atMs: START_MS + Math.floor((r.atMs - START_MS) / 60_000) * 60_000 }));
    for (const inputs of [swapped, doubled, minutes]) expect(told(feed(begin(), inputs))).toEqual([]);
  });

  it('of the computer itself is a note when it was set by minutes, and nothing when by seconds', () => {
    const set = (byS: number) =>
      told(feed(feed(begin(), sound()), [{ kind: 'edge', atMs: atS(TROUBLE_S + 1), edge: 'clock-set', byS }]));
    expect(set(2)).toEqual([]);
    expect(set(3600)).toMatchObject([{ priority: 'note' }]);
  });
});
