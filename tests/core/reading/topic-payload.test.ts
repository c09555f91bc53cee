import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { SensorSetup, TopicPoint } from '../../../daemon/core/plan/kiln.ts';
import { decodeRaw } from '../../../daemon/core/reading/decode.ts';

type Unit = NonNullable<SensorSetup['unit']>;

function heard(text: string, points: readonly TopicPoint[], unit: Unit = 'C') {
  const message = { kind: 'raw', atMs: 0, input: 'mqtt-1', channel: 'kiln/all', text } as const;
  return decodeRaw(message, { kind: 'topics', points }, [{ name: 'shelf', unit }]);
}
const point = (gives: string, more: Partial<TopicPoint> = {}): TopicPoint => ({
  gives,
  topic: 'kiln/all',
  ...more,
});
const celsius = (sensor: string, temperatureC: number) => ({ kind: 'temperature', sensor, temperatureC });

describe('a payload', () => {
  it.each([
    ['648.5', 648.5],
    [' 648,5 °C\n', 648.5],
    ['6.485e2', 648.5],
    ['-12', -12],
  ])('%j is a plain number', (text, temperatureC) => {
    expect(heard(text, [point('shelf')])).toEqual({ ok: true, readings: [celsius('shelf', temperatureC)] });
  });

  it('of JSON holds several sensors and the lid, each at its place', () => {
    const points = [point('shelf', { path: 'data.0.t' }), point('top', { path: 'top' }), point('lid', { path: 'lid' })];
    expect(heard('{"data":[{"t":648.5},{"t":1}],"top":"651","lid":true}', points)).toEqual({
      ok: true,
      readings: [celsius('shelf', 648.5), celsius('top', 651), { kind: 'lid', open: true }],
    });
  });

  it('that tells of some sensors only is silent on the others', () => {
    const points = [point('shelf', { path: 'shelf' }), point('top', { path: 'top' })];
    expect(heard('{"top":651}', points)).toEqual({ ok: true, readings: [celsius('top', 651)] });
  });

  it('in °F or K becomes °C, in mV stays a voltage', () => {
    expect(heard('1200', [point('shelf')], 'F')).toEqual({ ok: true, readings: [celsius('shelf', 648.888889)] });
    expect(heard('1200 °F', [point('shelf')], 'F')).toMatchObject({ ok: true });
    expect(heard('{"k":921.65}', [point('shelf', { path: 'k' })], 'K')).toEqual({
      ok: true,
      readings: [celsius('shelf', 648.5)],
    });
    const emf = { kind: 'emf', sensor: 'shelf', emfMv: 26.965 };
    expect(heard('26.965', [point('shelf')], 'mV')).toEqual({ ok: true, readings: [emf] });
  });

  it('tells when it was measured, where the board says so', () => {
    const points = [point('shelf', { path: 't', timePath: 'at' })];
    expect(heard('{"t":648.5,"at":1773478800}', points)).toEqual({
      ok: true,
      readings: [{ ...celsius('shelf', 648.5), saidAtMs: 1_773_478_800_000 }],
    });
    // It does not know the time yet.
    expect(heard('{"t":648.5,"at":null}', points)).toEqual({ ok: true, readings: [celsius('shelf', 648.5)] });
  });

  it.each([
    ['null', { path: 't' }, '{"t":null}'],
    ['an empty text', {}, ''],
    ['nan', { path: 't' }, '{"t":"NaN"}'],
    ["the board's own number for none", { noValue: [-127] }, '-127'],
  ])('says with %s that there is no value', (_, more, text) => {
    const fault = { kind: 'fault', sensor: 'shelf', fault: 'the instrument gives no value' };
    expect(heard(text, [point('shelf', more)])).toEqual({ ok: true, readings: [fault] });
  });

  it.each([
    ['another unit than was declared', '1200 F', {}, 'is no temperature'],
    ['one or a thousand', '1,074', {}, 'write decimal'],
    ['words', 'warm', {}, 'is no temperature'],
    ['two numbers', '648 651', {}, 'is no temperature'],
    ['JSON where none is declared', '{"t":648}', {}, 'is no temperature'],
    ['no JSON where it is declared', '648', { path: 't' }, 'has nothing at t'],
    ['torn JSON', '{"t":648', { path: 't' }, 'is no JSON'],
    ['a group', '{"t":{"c":648}}', { path: 't' }, 'has a group or a list at "t"'],
    ['a switch', '{"t":true}', { path: 't' }, 'is no temperature'],
    ['a place of JavaScript', '{"t":648}', { path: 'constructor.length' }, 'has nothing at constructor.length'],
    ['a garbled time', '{"t":648,"at":"noon"}', { path: 't', timePath: 'at' }, 'has no time at "at"'],
  ])('is refused for %s: %s', (_, text, more, why) => {
    const answer = heard(text, [point('shelf', more)]);
    expect(answer).toMatchObject({ ok: false });
    expect(answer.ok ? '' : answer.sentence).toContain(why);
  });

  it('of any text or JSON never crashes, and invents no value', () => {
    const points = [point('a'), point('b', { path: 'b' }), point('shelf', { path: 'b.0', timePath: 't' })];
    const payload = fc.oneof(
      fc.string({ maxLength: 60 }),
      fc.string({ unit: 'binary', maxLength: 60 }),
      fc.json({ maxDepth: 3 }),
      fc.record({ b: fc.oneof(fc.jsonValue(), fc.double()), t: fc.jsonValue() }).map((value) => JSON.stringify(value)),
      fc.stringMatching(/^[-+0-9.,eEcCfF° ]{0,12}$/),
    );
    fc.assert(
      fc.property(payload, (text) => {
        const answer = heard(text, points, 'F');
        if (!answer.ok) {
          expect(answer.sentence.endsWith('.')).toBe(true);
          return;
        }
        for (const reading of answer.readings) {
          if (reading.kind !== 'temperature') continue;
          expect(Number.isFinite(reading.temperatureC)).toBe(true);
          // Each figure stands in the payload: as °C, or as the °F it was made of.
          const figures = text.match(/[-+]?(\d+([.,]\d*)?|[.,]\d+)([eE][-+]?\d+)?/g) ?? [];
          const said = figures.map((figure) => Number(figure.replace(',', '.')));
          const shown = reading.sensor === 'shelf' ? reading.temperatureC * 1.8 + 32 : reading.temperatureC;
          expect(said.some((figure) => Math.abs(figure - shown) <= 1e-5 * Math.max(1, Math.abs(figure)))).toBe(true);
        }
      }),
      { seed: 7, numRuns: 1500 },
    );
  });
});
