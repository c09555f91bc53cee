import { expect, test } from 'vitest';
import {
  heatOf,
  type KilnModel,
  KilnRun,
  keepingRatio,
  restingState,
  WALL_CELLS,
} from '../../../daemon/core/kiln-model/kiln-model.ts';
import { madeKiln } from './made-firing.ts';

/** One body alone: no wall, no lag, a loss that does not grow. */
const bare: KilnModel = {
  ...madeKiln,
  lossColdPerH: 1.2,
  lossHotPerH: 1.2,
  exchangePerH: 1e-9,
  heatLagS: 0.01,
  sensorLagS: 0.01,
};

test('one body alone falls as an exponential does', () => {
  const run = new KilnRun(bare, 20, restingState(620));
  for (let s = 0; s < 3600; s += 10) run.step(10, 0);
  // 600 °C above the room, losing 1.2 of it an hour.
  expect(run.shownC).toBeCloseTo(20 + 600 * Math.exp(-1.2), 1);
});

test('steps of two minutes come to the same as steps of a second', () => {
  const ends = [1, 30, 120].map((stepS) => {
    const run = new KilnRun(madeKiln, 20, restingState(20));
    for (let s = 0; s < 4 * 3600; s += stepS) run.step(stepS, s < 2 * 3600 ? heatOf(madeKiln, 0.6) : 0);
    return run.shownC;
  });
  expect(Math.abs((ends[1] ?? 0) - (ends[0] ?? 0))).toBeLessThan(0.02);
  expect(Math.abs((ends[2] ?? 0) - (ends[0] ?? 0))).toBeLessThan(0.1);
});

test('a step of a whole day neither swings nor explodes', () => {
  const run = new KilnRun(madeKiln, 20, restingState(900));
  run.step(86_400, 0);
  expect(run.shownC).toBeGreaterThan(-20);
  expect(run.shownC).toBeLessThan(250);
  for (let day = 0; day < 5; day++) run.step(86_400, 0);
  expect(run.shownC).toBeCloseTo(20, 0);
});

test('what leaves the chamber without loss is found in the wall', () => {
  const tight = { ...madeKiln, lossColdPerH: 0, lossHotPerH: 0, heatLagS: 0.01 };
  const run = new KilnRun(tight, 20, restingState(20));
  for (let s = 0; s < 3600; s += 30) run.step(30, 300);
  const wallC = [...run.wallC].reduce((sum, c) => sum + c, 0) / WALL_CELLS;
  // 300 °C/h for an hour, counted per capacity of the chamber; the wall has three times as much.
  expect(run.chamberC - 20 + tight.wallRatio * (wallC - 20)).toBeCloseTo(300, 1);
});

test('the heat that keeps a temperature keeps it', () => {
  const heat = heatOf(madeKiln, keepingRatio(madeKiln, restingState(500), 500, 20));
  const chamberC = 500 - (madeKiln.glowS / 3600) * heat;
  const run = new KilnRun(madeKiln, 20, { ...restingState(500), chamberC, arrivingCPerH: heat });
  for (let s = 0; s < 60; s += 10) run.step(10, heat);
  expect(run.shownC).toBeCloseTo(500, 1);
});
