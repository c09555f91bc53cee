import { describe, expect, test } from 'vitest';
import {
  celsius,
  degrees,
  deviation,
  duration,
  minutesOf,
  rate,
  tickLabel,
  timeNear,
  timeOfDay,
  timeTicks,
  zoneName,
} from '../../web/format.ts';

const atMs = Date.UTC(2026, 10, 18, 13, 20);

describe('times on the page', () => {
  test('a time is that of the clock on the wall, whatever zone the browser believes in', () => {
    expect(timeOfDay(atMs, 60)).toBe('14:20');
    expect(timeOfDay(atMs, -210)).toBe('09:50');
  });

  test('a time of another day says the day', () => {
    expect(timeNear(atMs, atMs - 3_600_000, 60)).toBe('14:20');
    expect(timeNear(atMs + 12 * 3_600_000, atMs, 60)).toBe('19 Nov 02:20');
  });

  test('the axis is labelled at round times of the wall clock, also half an hour off the zone', () => {
    const ticks = timeTicks(atMs, atMs + 3 * 3_600_000, 330, 8);
    expect(ticks.map((tick) => timeOfDay(tick, 330))).toEqual(['19:00', '19:30', '20:00', '20:30', '21:00', '21:30']);
  });

  test('there are never more labels than asked for, from ten minutes to nine days', () => {
    for (const minutes of [10, 75, 600, 1300, 13_000]) {
      const ticks = timeTicks(atMs, atMs + minutes * 60_000, 60, 6);
      expect(ticks.length).toBeGreaterThan(0);
      expect(ticks.length).toBeLessThanOrEqual(7);
    }
  });

  test('midnight is labelled with its date', () => {
    expect(tickLabel(Date.UTC(2026, 10, 18, 23, 0), 60)).toBe('19 Nov');
  });
});

describe('figures on the page', () => {
  test('degrees stand without decimals and without a negative nought', () => {
    expect(degrees(648.4)).toBe('648');
    expect(degrees(-0.3)).toBe('0');
    expect(celsius(-4.6)).toBe('−5 °C');
  });

  test('a hold of 15 minutes is not called done a second too early', () => {
    expect(minutesOf(899, 900)).toBe('14 of 15 min');
    expect(minutesOf(900, 900)).toBe('15 of 15 min');
  });

  test('the pace has its direction in a word', () => {
    expect(rate(119.6)).toBe('climbing 120 °C/h');
    expect(rate(-240)).toBe('falling 240 °C/h');
    expect(rate(3)).toBe('steady');
  });

  test('a deviation says over or under, and nothing where there is none', () => {
    expect(deviation(2.6)).toBe('3 °C over');
    expect(deviation(-12)).toBe('12 °C under');
    expect(deviation(0.3)).toBe('as planned');
  });

  test('an age is told in seconds, minutes or hours', () => {
    expect(duration(42.9)).toBe('42 s');
    expect(duration(360)).toBe('6 min');
    expect(duration(7500)).toBe('2 h 05 min');
  });

  test('a zone is named by its hours ahead of UTC', () => {
    expect([60, 0, -210, 330].map(zoneName)).toEqual(['UTC+1', 'UTC+0', 'UTC−3:30', 'UTC+5:30']);
  });
});
