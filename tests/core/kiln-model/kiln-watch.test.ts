import { expect, test } from 'vitest';
import { heatOf, KilnRun, restingState } from '../../../daemon/core/kiln-model/kiln-model.ts';
import { lookAhead, tuneWatch } from '../../../daemon/core/kiln-model/look-ahead.ts';
import { madeFiring, madeKiln } from './made-firing.ts';

const QUIET = { readingC: 0.5, strayCPerH: 5, strayLastsS: 3600 };

test('with the heat known, ten minutes ahead are foreseen to a degree', () => {
  const firing = madeFiring(madeKiln, 21);
  const places = firing.readings.map((_, i) => i).filter((i) => i > 30 && i % 40 === 0 && i < 2700);
  const errors = lookAhead(madeKiln, QUIET, firing, [600], places).map(
    ({ at, heatKnownC }) => (heatKnownC?.[0] ?? 999) - (firing.readings[at + 60]?.celsius ?? 0),
  );
  const rmsC = Math.sqrt(errors.reduce((sum, e) => sum + e * e, 0) / errors.length);
  expect(rmsC).toBeLessThan(1);
});

test('heat that no setting tells of is found from the readings: a bottle that gives a fifth less', () => {
  const firing = madeFiring(madeKiln, 22);
  const weak = { ...madeKiln, powerCPerH: 0.8 * madeKiln.powerCPerH };
  const run = new KilnRun(weak, 20, restingState(20));
  const readings = firing.readings.map(({ atMs }) => {
    const ratio = firing.heat.findLast((h) => h.atMs < atMs)?.ratio ?? 0;
    run.step(10, heatOf(weak, ratio));
    return { atMs, celsius: run.shownC };
  });
  const at = 900;
  const [foreseen] = lookAhead(madeKiln, { ...QUIET, strayCPerH: 200 }, { ...firing, readings }, [600], [at]);
  const [blind] = lookAhead(madeKiln, { ...QUIET, strayCPerH: 0.01 }, { ...firing, readings }, [600], [at]);
  const truth = readings[at + 60]?.celsius ?? 0;
  expect(Math.abs((foreseen?.heatKnownC?.[0] ?? 999) - truth)).toBeLessThan(3);
  expect(Math.abs((blind?.heatKnownC?.[0] ?? 999) - truth)).toBeGreaterThan(8);
});

test('a single glitch hardly moves what is foreseen', () => {
  const firing = madeFiring(madeKiln, 23);
  const spoilt = firing.readings.map((r, i) => (i === 895 ? { ...r, celsius: 1024 } : r));
  const [clean] = lookAhead(madeKiln, QUIET, firing, [600], [900]);
  const [glitch] = lookAhead(madeKiln, QUIET, { ...firing, readings: spoilt }, [600], [900]);
  expect(Math.abs((glitch?.heatKeptC[0] ?? 0) - (clean?.heatKeptC[0] ?? 0))).toBeLessThan(2);
});

test('what was only heard up to a place says what is foreseen there: nothing later is used', () => {
  const firing = madeFiring(madeKiln, 24);
  const cut = { ...firing, readings: firing.readings.slice(0, 901) };
  const [whole] = lookAhead(madeKiln, QUIET, firing, [300], [900]);
  const [prefix] = lookAhead(madeKiln, QUIET, cut, [300], [900]);
  expect(prefix).toEqual(whole);
});

test('a model that is right is trusted, one that is wrong is not', () => {
  const firing = madeFiring(madeKiln, 25, true, 4 * 3600);
  const wrong = { ...madeKiln, lossHotPerH: 2.5 };
  const [right, other] = [madeKiln, wrong].map((model) => tuneWatch(model, [firing], [120, 600], 0.5).strayCPerH);
  expect(right).toBeLessThan(other ?? 0);
});
