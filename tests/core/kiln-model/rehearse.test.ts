import { expect, test } from 'vitest';
import { fireInModel } from '../../../daemon/core/kiln-model/fire-in-model.ts';
import { logsOf } from '../../../daemon/core/kiln-model/kiln-parameters.ts';
import { type RehearsalConditions, rehearse } from '../../../daemon/core/kiln-model/rehearse.ts';
import type { UnsureModel } from '../../../daemon/core/kiln-model/spread.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { madeKiln } from './made-firing.ts';

const matt: Schedule = {
  name: 'Matt, 3 mm pieces',
  segments: [
    { kind: 'ramp', toC: 450, rateCPerH: 240, opening: 'propped', acts: [{ when: 'end', do: 'close the door' }] },
    { kind: 'ramp', toC: 560, rateCPerH: 180 },
    { kind: 'ramp', toC: 660, rateCPerH: 120 },
    { kind: 'hold', minutes: 15, acts: [{ when: 'end', do: 'gas off, damper after', callMinutes: 3 }] },
    { kind: 'ramp', toC: 150, rateCPerH: 'let-fall' },
    { kind: 'ramp', toC: 60, rateCPerH: 'let-fall', opening: 'free' },
  ],
};

const GAS: RehearsalConditions = {
  heat: 'gas',
  closure: 'door',
  safeOpenC: 150,
  startedAtMs: Date.UTC(2026, 2, 14, 9),
  startC: 20,
  roomC: 20,
};

/** Each parameter known to one in a hundred, the one at `except` worse. */
function known(model = madeKiln, except?: readonly [index: number, sigma: number]): UnsureModel {
  const covariance = Array.from({ length: 8 }, (_, i) =>
    Array.from({ length: 8 }, (__, j) => (i !== j ? 0 : (i === except?.[0] ? except[1] : 0.01) ** 2)),
  );
  return { model, logs: logsOf(model), covariance, errorC: 1 };
}

const minutesOf = (fromMs: number, toMs: number): number => (toMs - fromMs) / 60_000;

test('a kiln with heat to spare follows its plan to the minute and rests at the top', () => {
  const { segments, peakC } = rehearse(known(), matt, GAS);
  const took = segments.slice(0, 4).map((s) => minutesOf(s.startsAt.atMs, s.endsAt.atMs));
  expect(took[0]).toBeGreaterThan(105);
  expect(took[0]).toBeLessThan(112);
  expect(took[2]).toBeLessThan(60);
  expect(took[3]).toBe(15);
  expect(segments.every((s) => s.short === null && s.isReached)).toBe(true);
  expect(peakC).toBeGreaterThan(658);
  expect(peakC).toBeLessThan(663);
});

test('a kiln that is too weak is said to fall behind: from where, to what pace, and how late it comes', () => {
  const weak = { ...madeKiln, powerCPerH: 1000 };
  const short = rehearse(known(weak), matt, GAS).segments[2]?.short;
  expect(short?.askedCPerH).toBe(120);
  expect(short?.slowestCPerH).toBeLessThan(110);
  expect(short?.lateS).toBeGreaterThan(600);
});

test('a top that the kiln never reaches ends the rehearsal there, with what it rests at', () => {
  const feeble = { ...madeKiln, powerCPerH: 500 };
  const { segments, unloadsAt } = rehearse(known(feeble), matt, GAS);
  const last = segments[segments.length - 1];
  expect(last?.isReached).toBe(false);
  expect(last?.endC).toBeLessThan(last?.goalC ?? 0);
  expect(segments.length).toBeLessThan(matt.segments.length);
  expect(unloadsAt).not.toBeNull();
});

test('the calendar of a gas firing names each minute at the kiln, in order, and no thing twice', () => {
  const { hands } = rehearse(known(), matt, GAS);
  const said = hands.map((h) => h.do);
  expect(said[0]).toBe('prop the door, vent open; light it');
  expect(said.filter((s) => /close/.test(s))).toEqual(['close the door']);
  expect(said.filter((s) => /gas off/.test(s))).toEqual(['gas off, damper after']);
  expect(said.filter((s) => /crack/.test(s))).toHaveLength(1);
  expect(said.filter((s) => /unload/.test(s))).toHaveLength(1);
  expect(said).toContain('turn the valve for 120 °C/h');
  expect(hands.map((h) => h.fromMs)).toEqual([...hands.map((h) => h.fromMs)].sort((a, b) => a - b));
  expect(hands.every((h) => h.callAtMs <= h.fromMs && h.toMs >= h.fromMs)).toBe(true);
});

test('a lazier kiln must be turned down further below the top', () => {
  const underC = (heatLagS: number): number => {
    const firing = fireInModel({ ...madeKiln, heatLagS }, matt, { startC: 20, roomC: 20, safeOpenC: 150 });
    return 660 - (firing.segments[2]?.turnDown?.atC ?? Number.NaN);
  };
  expect(underC(60)).toBeGreaterThan(0);
  expect(underC(480)).toBeGreaterThan(underC(60) + 3);
});

test('nobody need stand at an electric kiln, but must see that it lets go', () => {
  const said = rehearse(known(), matt, { ...GAS, heat: 'electric', closure: 'lid' }).hands.map((h) => h.do);
  expect(said.some((s) => /stand at the valve|turn down|gas off first/.test(s))).toBe(false);
  const bare = { ...matt, segments: matt.segments.map(({ acts: _acts, ...s }) => s) };
  const unasked = rehearse(known(), bare, { ...GAS, heat: 'electric', closure: 'lid' }).hands.map((h) => h.do);
  expect(unasked).toContain('check that it lets go');
  expect(unasked).toContain('close vent and lid');
});

test('the less is known of the losses, the wider the band of the fall', () => {
  const half = (sigma: number): number => {
    const { unloadsAt } = rehearse(known(madeKiln, [1, sigma]), matt, GAS);
    return minutesOf(unloadsAt?.earliestMs ?? 0, unloadsAt?.latestMs ?? 0);
  };
  expect(half(0.2)).toBeGreaterThan(2 * half(0.01));
});

test('the curve stays within its own band and begins where the kiln stands', () => {
  const { points } = rehearse(known(), matt, { ...GAS, startC: 35 });
  expect(points[0]?.celsius).toBe(35);
  expect(points.every((p) => p.lowC <= p.celsius && p.celsius <= p.highC)).toBe(true);
  expect(points.every((p, i) => i === 0 || p.atMs > (points[i - 1]?.atMs ?? 0))).toBe(true);
});
