import { expect, test } from 'vitest';
import {
  heatOfActs,
  heatOfPlan,
  largestMark,
  openByPlan,
  openStretches,
} from '../../../daemon/core/kiln-model/heat-evidence.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';

const MIN = 60_000;
const acts = [
  { atMs: 0, what: 'flame', value: 'lit' },
  { atMs: 0, what: 'valve', value: 'mark 4' },
  { atMs: 30 * MIN, what: 'Valve', value: 'mark 7,5' },
  { atMs: 40 * MIN, what: 'gloss seen' },
  { atMs: 60 * MIN, what: 'gas', value: 'off' },
];

test('marks of the valve are shares of the largest, and gas off is none', () => {
  expect(largestMark(acts)).toBe(7.5);
  expect(heatOfActs(acts, 7.5)).toEqual([
    { atMs: 0, ratio: null },
    { atMs: 0, ratio: 4 / 7.5 },
    { atMs: 30 * MIN, ratio: 1 },
    { atMs: 60 * MIN, ratio: 0 },
  ]);
});

test('a flame that was blown out and lit again burns at the mark it had', () => {
  const blown = [
    ...acts.slice(0, 2),
    { atMs: 5, what: 'flame', value: 'out' },
    { atMs: 9, what: 'flame', value: 'lit' },
  ];
  expect(heatOfActs(blown, 8)?.map((h) => h.ratio)).toEqual([null, 0.5, 0, 0.5]);
});

test('acts that do not speak of heat tell nothing of it', () => {
  expect(heatOfActs([{ atMs: 0, what: 'door', value: 'closed' }], 0)).toBeNull();
});

const plan: Schedule = {
  name: 'plan',
  segments: [
    { kind: 'ramp', toC: 500, rateCPerH: 'flat-out', opening: 'propped' },
    { kind: 'hold', minutes: 10 },
    { kind: 'ramp', toC: 100, rateCPerH: 'let-fall' },
  ],
};
const passed = [0, 1, 2].map((segment) => ({
  segment,
  startedAtMs: segment * 60 * MIN,
  endedAtMs: (segment + 1) * 60 * MIN,
}));

test('by the plan alone heat is known where it is full or off, and by hand not to the minute', () => {
  expect(heatOfPlan(plan, passed, 'electric').map((h) => h.ratio)).toEqual([1, null, 0]);
  const gas = heatOfPlan(plan, passed, 'gas');
  expect(gas.map((h) => h.ratio)).toEqual([null, null, null, 0]);
  expect(gas[3]?.atMs).toBeGreaterThan(120 * MIN);
});

test('a door is open until it is closed, and for a while its fall says nothing', () => {
  const doors = [
    { atMs: 10 * MIN, what: 'door', value: 'cracked' },
    { atMs: 12 * MIN, what: 'door', value: 'closed' },
    { atMs: 50 * MIN, what: 'lid', value: 'open' },
  ];
  expect(openStretches(doors, [], 60 * MIN)).toEqual([
    { fromMs: 10 * MIN, toMs: 17 * MIN },
    { fromMs: 50 * MIN, toMs: 65 * MIN },
  ]);
  expect(openByPlan(plan, passed)).toEqual([{ fromMs: 0, toMs: 65 * MIN }]);
});
