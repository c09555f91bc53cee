/** Kilns of a richer physics than the model's: walls in many layers, a burner, a painter's hand, a controller. */
import { expect, test } from 'vitest';
import { fitKiln } from '../../../daemon/core/kiln-model/fit-kiln.ts';
import {
  heatOfActs,
  heatOfPlan,
  largestMark,
  openByPlan,
  openStretches,
} from '../../../daemon/core/kiln-model/heat-evidence.ts';
import { lookAhead, tuneWatch } from '../../../daemon/core/kiln-model/look-ahead.ts';
import type { RecordedFiring } from '../../../daemon/core/kiln-model/recorded-firing.ts';
import { rulingSensor } from '../../../daemon/core/plan/kiln.ts';
import { startPlan, trackPlan } from '../../../daemon/core/tracking/plan-track.ts';
import { toleranceOf } from '../../../daemon/core/tracking/tolerance.ts';
import { type FiringScenario, fireScenario } from '../../../simulators/firing-scenario.ts';
import { quietElectric, quietGas } from '../../support/scenarios.ts';

const SEEDS = [1, 2, 3] as const;

function readingsOf(scenario: FiringScenario) {
  const { rows, acts } = fireScenario(scenario);
  const rules = rulingSensor(scenario.kiln);
  const readings = rows.flatMap((r) =>
    r.sensor === rules && r.celsius !== null ? [{ atMs: r.atMs, celsius: r.celsius }] : [],
  );
  return { readings, acts, endMs: readings[readings.length - 1]?.atMs ?? 0 };
}

function gasFiring(seed: number): RecordedFiring {
  const { readings, acts, endMs } = readingsOf(quietGas(seed));
  const heat = heatOfActs(acts, largestMark(acts)) ?? [];
  return {
    name: `gas ${seed}`,
    readings,
    heat,
    leftOut: openStretches(acts, [], endMs),
    roomC: readings[0]?.celsius ?? 20,
  };
}

function electricFiring(seed: number): RecordedFiring {
  const scenario = quietElectric(seed);
  const { readings } = readingsOf(scenario);
  const [first] = readings;
  if (first === undefined) throw new Error('no readings');
  const { schedule } = scenario;
  let track = startPlan(first);
  for (const r of readings) track = trackPlan(schedule, track, r, toleranceOf(scenario.kiln, schedule));
  const present = { segment: track.segment, startedAtMs: track.startedAtMs, endedAtMs: track.last.atMs };
  const passed = [...track.past, present];
  const heat = heatOfPlan(schedule, passed, 'electric');
  return { name: `electric ${seed}`, readings, heat, leftOut: openByPlan(schedule, passed), roomC: first.celsius };
}

/** How far off the fall after the heat was off is, foreseen once from its beginning, over the two hours that follow. */
function fallErrorsC(
  fitted: readonly RecordedFiring[],
  third: RecordedFiring,
  heat: 'gas' | 'electric',
): { ours: number; line: number } {
  const setting = heat === 'gas' ? 'valve' : 'proportional';
  const fit = fitKiln(fitted, { heat, setting });
  if (fit === null) throw new Error('nothing was fitted');
  const noise = tuneWatch(fit.model, fitted, [120, 300, 600], 0.3);
  const offMs = third.heat.findLast((h, i) => h.ratio === 0 && third.heat[i - 1]?.ratio !== 0)?.atMs ?? 0;
  const at = third.readings.findIndex((r) => r.atMs > offMs + 600_000);
  const horizonsS = [1800, 3600, 7200];
  const [foreseen] = lookAhead(fit.model, noise, third, horizonsS, [at]);
  const now = third.readings[at];
  const before = third.readings[at - 12];
  if (now === undefined || before === undefined || foreseen === undefined) throw new Error('no fall');
  const pace = (now.celsius - before.celsius) / ((now.atMs - before.atMs) / 1000);
  const off = (of: (h: number, aheadS: number) => number): number =>
    Math.max(
      ...horizonsS.map((aheadS, h) => {
        const truth = third.readings.find((r) => r.atMs >= now.atMs + aheadS * 1000);
        return Math.abs(of(h, aheadS) - (truth?.celsius ?? Number.NaN));
      }),
    );
  return { ours: off((h) => foreseen.heatKnownC?.[h] ?? 999), line: off((_, s) => now.celsius + pace * s) };
}

test('fitted to two gas firings by hand, the fall of the third is foreseen two hours ahead', {
  timeout: 60_000,
}, () => {
  const [first, second, third] = SEEDS.map(gasFiring);
  if (first === undefined || second === undefined || third === undefined) throw new Error('three firings');
  const { ours, line } = fallErrorsC([first, second], third, 'gas');
  console.log(`gas, seeds ${SEEDS}: at most ${ours.toFixed(1)} °C off, a straight line ${line.toFixed(0)}`);
  expect(ours).toBeLessThan(25);
  expect(ours).toBeLessThan(line / 3);
});

test('fitted to two electric firings of which nobody recorded the heat, the fall of the third is foreseen', {
  timeout: 60_000,
}, () => {
  const [first, second, third] = SEEDS.map(electricFiring);
  if (first === undefined || second === undefined || third === undefined) throw new Error('three firings');
  const { ours, line } = fallErrorsC([first, second], third, 'electric');
  console.log(`electric, seeds ${SEEDS}: at most ${ours.toFixed(1)} °C off, a straight line ${line.toFixed(0)}`);
  expect(ours).toBeLessThan(25);
  expect(ours).toBeLessThan(line / 3);
});
