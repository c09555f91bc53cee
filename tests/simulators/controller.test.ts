import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { type ControllerSpec, controller } from '../../simulators/controller.ts';
import { programme } from '../../simulators/programme.ts';

const plain: ControllerSpec = {
  bandC: 10,
  integralS: 600,
  windUp: 'held',
  onBrokenCouple: 'off',
  afterPowerCut: 'goes-on',
};

const plan: Schedule = {
  name: 'Up, hold, down',
  segments: [
    { kind: 'ramp', toC: 120, rateCPerH: 360 },
    { kind: 'hold', minutes: 10 },
    { kind: 'ramp', toC: 60, rateCPerH: 'let-fall' },
    { kind: 'ramp', toC: 200, rateCPerH: 'flat-out' },
  ],
};

describe('a programme', () => {
  it('goes up its ramp at its rate while the kiln follows, waits where it does not, and goes on from there', () => {
    const steps = programme(plan, 20, true);
    for (let s = 0; s < 100; s++) steps.step(steps.setpointC(), 1);
    expect(steps.setpointC()).toBeCloseTo(30, 6);
    for (let s = 0; s < 1000; s++) steps.step(25, 1);
    // 8 °C ahead of the kiln, no farther.
    expect(steps.setpointC()).toBeLessThan(33.2);
    for (let s = 0; s < 100; s++) steps.step(steps.setpointC(), 1);
    expect(steps.setpointC()).toBeGreaterThan(42);
    expect(steps.segment()).toBe(0);
  });

  it('runs by the clock where it does not wait, whatever the kiln does', () => {
    const steps = programme(plan, 20, false);
    for (let s = 0; s <= 1000; s++) steps.step(20, 1);
    expect(steps.segment()).toBe(1);
    expect(steps.setpointC()).toBe(120);
    for (let s = 0; s < 600; s++) steps.step(20, 1);
    expect(steps.segment()).toBe(2);
  });

  it('ends a ramp when the kiln is there too, holds its minutes, and is off while it lets the kiln fall', () => {
    const steps = programme(plan, 119.9, true);
    for (let s = 0; s < 60; s++) steps.step(118, 1);
    expect(steps.segment()).toBe(0);
    steps.step(119.5, 1);
    expect(steps.segment()).toBe(1);
    for (let s = 0; s < 600; s++) steps.step(120, 1);
    expect(steps.segment()).toBe(2);
    expect(steps.isOff()).toBe(true);
    steps.step(59, 1);
    expect(steps.segment()).toBe(3);
    steps.step(60, 1);
    expect([steps.isOff(), steps.setpointC()]).toEqual([false, 200]);
    steps.step(199.5, 1);
    expect([steps.segment(), steps.isOff()]).toEqual([4, true]);
  });
});

describe('a controller', () => {
  const hold: Schedule = { name: 'Hold', segments: [{ kind: 'hold', minutes: 1000 }] };
  /** At a hold whose setpoint is 0 °C: what it shows is what it is off by. */
  const at = (spec: ControllerSpec, errors: readonly number[]): number => {
    const one = controller(spec, hold, 0);
    for (const error of errors) one.step(-error, 1);
    return one.outputRatio();
  };

  it('gives all its heat a band below the setpoint, half of it half a band below, none above', () => {
    expect(at(plain, [15])).toBe(1);
    expect(at(plain, [5])).toBeCloseTo(0.5, 6);
    expect(at(plain, [-5])).toBe(0);
  });

  it('adds up what is missing until the kiln is there', () => {
    expect(at(plain, Array(601).fill(2))).toBeCloseTo(0.4, 2);
  });

  it('winds up while it can give no more heat if it was made so, and then gives heat far above the setpoint', () => {
    const long = [...Array(1200).fill(30), ...Array(60).fill(-5)];
    expect(at(plain, long)).toBe(0);
    expect(at({ ...plain, windUp: 'free' }, long)).toBe(1);
  });

  it('winds down again in the end', () => {
    expect(at({ ...plain, windUp: 'free' }, [...Array(1200).fill(30), ...Array(7200).fill(-5)])).toBe(0);
  });

  it('tells what it shows, wants and gives, and nothing without power', () => {
    const one = controller(plain, plan, 20);
    one.step(20, 10);
    expect(one.readOut()).toEqual({ shownC: 20, setpointC: 21, outputRatio: expect.closeTo(0.1, 6), segment: 0 });
    one.losePower();
    one.step(500, 10);
    expect(one.readOut()).toEqual({ shownC: null, setpointC: 21, outputRatio: 0, segment: 0 });
    one.getPower(30);
    expect(one.readOut()).toMatchObject({ shownC: 30, segment: 0 });
  });

  it('keeps its heat as it was when its couple breaks, if it was made so', () => {
    const steady = controller({ ...plain, onBrokenCouple: 'keeps-on' }, hold, 0);
    steady.step(-4, 1);
    const before = steady.outputRatio();
    for (let s = 0; s < 100; s++) steady.step(null, 1);
    expect(steady.outputRatio()).toBe(before);
    const careful = controller(plain, hold, 0);
    careful.step(-4, 1);
    careful.step(null, 1);
    expect(careful.outputRatio()).toBe(0);
  });
});
