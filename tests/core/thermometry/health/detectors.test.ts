import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../../daemon/core/numbers/seeded-random.ts';
import type { HealthContext, HealthSample } from '../../../../daemon/core/thermometry/health/detector.ts';
import { judgeSensor, type SensorHealth, SOUND } from '../../../../daemon/core/thermometry/health/sensor-health.ts';

const usual: HealthContext = {
  sensor: 'shelf',
  range: { fromC: -270, toC: 1372 },
  stepC: 0.25,
  heat: 'on',
  heading: 'up',
  isOpen: false,
  hasMovedLid: false,
  others: [],
  codesC: [],
};

/** One sample a second. */
function heard(
  figures: readonly (number | null | Partial<HealthSample>)[],
  context: Partial<HealthContext> = {},
): SensorHealth {
  return figures.reduce<SensorHealth>((health, figure, i) => {
    const said = typeof figure === 'object' && figure !== null ? figure : { celsius: figure };
    return judgeSensor(health, { atMs: i * 1000, celsius: null, ...said }, { ...usual, ...context });
  }, SOUND);
}
const causeOf = (health: SensorHealth): string | null => health.fault?.cause ?? null;
const climb = (count: number, fromC = 400): number[] => Array.from({ length: count }, (_, i) => fromC + 0.05 * i);
const repeat = <Value>(value: Value, count: number): Value[] => Array.from({ length: count }, () => value);

describe('the watch over a sensor', () => {
  it('says in a sentence what is seen and what it may be', () => {
    expect(heard([...climb(60), ...repeat(null, 12)]).fault?.sentence).toBe(
      'shelf gives no value: its wire is broken or a screw is loose.',
    );
    expect(heard([...climb(60), 0, 0]).fault?.sentence).toBe(
      "shelf says exactly 0 again and again: that is the instrument's word for no value.",
    );
    expect(heard([...climb(60), 2400, 2400]).fault?.sentence).toBe(
      'shelf shows 2400 °C; its couple can show -270 to 1372 °C only. Look at the wires and at what the instrument is set to.',
    );
  });

  it('does not mind one missed or garbled figure', () => {
    for (const wild of [null, 0, 2400, -32_768, 1372, 900]) {
      expect(causeOf(heard([...climb(60), wild, ...climb(30, 403)]))).toBeNull();
    }
  });

  it('does not mind a spark that takes two or three readings to come and go', () => {
    for (const sparks of [
      [339.5, 287.75],
      [520, 610],
      [390, 330, 290],
    ])
      expect(causeOf(heard([...climb(60), ...sparks, ...climb(90, 403)]))).toBeNull();
    // Where it stays after all it has leapt.
    expect(causeOf(heard([...climb(60), 288, ...climb(90, 288)]))).toBe('jump');
  });

  it('takes a zero for a temperature where the kiln is that cold, and for none where it was not', () => {
    expect(causeOf(heard([2, 1, 1, 0, 0, 0, -1, 0, 0], { stepC: 1, heat: 'off' }))).toBeNull();
    expect(causeOf(heard([20, 20, 20, 0, 0], { heat: 'off' }))).toBe('sentinel');
  });

  it('takes a board that says 0.00 from its first word on for one with a broken wire', () => {
    expect(causeOf(heard(repeat(0, 19)))).toBeNull();
    expect(causeOf(heard(repeat(0, 20)))).toBe('sentinel');
  });

  it('knows the words that this instrument has for no value', () => {
    expect(causeOf(heard([...climb(60), 777, 777]))).not.toBe('sentinel');
    expect(causeOf(heard([...climb(60), 777, 777], { codesC: [777] }))).toBe('sentinel');
  });

  it('takes a rise that no element makes for a leap, and none where power came back or a door was shut', () => {
    const falls = Array.from({ length: 300 }, (_, i) => 415 - 0.4 * i);
    const electric = { isElectric: true };
    const leap = [...climb(300), 421, 428, 434, 440, ...Array.from({ length: 20 }, (_, i) => 440 - i / 2)];
    expect(causeOf(heard(leap, electric))).toBe('jump');
    expect(causeOf(heard(leap))).toBeNull();
    expect(
      causeOf(heard([...climb(300), ...falls, ...falls.slice(-60).reverse(), ...climb(60, 324)], electric)),
    ).toBeNull();
    const back = Array.from({ length: 60 }, (_, i) => 295 + 2 * i);
    expect(causeOf(heard([...climb(300), ...falls, ...back], electric))).toBeNull();
  });

  it('takes a fall that its controller makes good, and another couple does not follow, for a leap', () => {
    const own = [...climb(60), ...Array.from({ length: 60 }, (_, i) => 375 + 0.4 * i)];
    const beside = [...climb(60, 398), ...Array.from({ length: 60 }, (_, i) => 401 + 0.42 * i)];
    const told = (isElectric: boolean) => {
      let health = SOUND;
      for (const [i, celsius] of own.entries()) {
        const others = [{ name: 'top', celsius: beside[i] ?? 0, ratePerS: null, wanders: false }];
        health = judgeSensor(health, { atMs: i * 1000, celsius }, { ...usual, isElectric, others });
      }
      return causeOf(health);
    };
    expect(told(true)).toBe('jump');
    expect(told(false)).toBeNull();
  });

  it('takes no leap of a cold kiln for one that another couple makes a reading later, as its elements strike', () => {
    const leaps = [46, 45, 44, 43, 42, 41];
    const falls = Array.from({ length: 20 }, (_, i) => 45 - i);
    const told = (beside: readonly number[]) => {
      let health = SOUND;
      for (const [i, celsius] of [...falls, ...leaps].entries()) {
        const others = [{ name: 'top', celsius: beside[i - falls.length] ?? 28, ratePerS: null, wanders: false }];
        health = judgeSensor(health, { atMs: i * 30_000, celsius }, { ...usual, isElectric: true, others });
      }
      return causeOf(health);
    };
    expect(told(repeat(28, 6))).toBe('jump');
    expect(told([28, 48, 47, 46, 45, 44])).toBeNull();
  });

  it('takes the instrument’s own upper end for a broken wire', () => {
    const own = { instrumentRange: { fromC: 0, toC: 1200 } };
    expect(causeOf(heard([...climb(60), ...repeat(1200, 3)], own))).toBe('open-circuit');
  });

  it('takes what wanders about for a broken wire, unless another couple wanders as well', () => {
    const { next } = seededRandom(5);
    const steps = Array.from({ length: 200 }, () => 8 * (next() - 0.5));
    const walk = steps.map((_, i) => 400 + steps.slice(0, i).reduce((sum, step) => sum + step, 0));
    const beside = (wanders: boolean) => ({ others: [{ name: 'top', celsius: 405, ratePerS: null, wanders }] });
    expect(causeOf(heard([...climb(60), ...walk]))).toBe('open-circuit');
    expect(causeOf(heard([...climb(60), ...walk], beside(false)))).toBe('open-circuit');
    expect(causeOf(heard([...climb(60), ...walk], beside(true)))).toBeNull();
  });

  it('takes no bead that flickers for a broken wire as a relay that sticks drives it up', () => {
    const { next } = seededRandom(5);
    const flickers = Array.from(
      { length: 200 },
      (_, i) => 340 + 8 * (next() - 0.5) - 300 * Math.expm1(-Math.max(i - 100, 0) / 40),
    );
    expect(causeOf(heard(flickers))).toBeNull();
  });

  it('believes the terminals no more once they leap or are hotter than a workshop', () => {
    const warm = (coldJunctionC: number) => (celsius: number) => ({ celsius, coldJunctionC });
    expect(causeOf(heard([...climb(120).map(warm(24)), ...climb(20, 406).map(warm(31))]))).toBeNull();
    expect(causeOf(heard([...climb(120).map(warm(24)), ...climb(3, 406).map(warm(45))]))).toBe('cold-junction');
    expect(causeOf(heard(climb(3).map(warm(85))))).toBe('cold-junction');
  });

  it('does not call a kiln frozen that nobody has lit yet', () => {
    expect(causeOf(heard(repeat(18.25, 3600)))).toBeNull();
  });

  it('calls frozen what stands still in a climb, after four minutes in whole degrees and one and a half in quarters of one', () => {
    const steps = (digitC: number): number[] =>
      climb(400).map((c, i) => Math.round((c + 0.4 * digitC * Math.sin(7 * i)) / digitC) * digitC);
    const stands = (digitC: number, forS: number): string | null =>
      causeOf(heard([...steps(digitC), ...repeat(420, forS)]));
    expect(stands(0.25, 60)).toBeNull();
    expect(stands(0.25, 90)).toBe('frozen');
    expect(stands(1, 225)).toBeNull();
    expect(stands(1, 260)).toBe('frozen');
  });

  it('calls frozen in half a minute what stands still where thirteen of its quarters should have gone by', () => {
    const steps = (everyC: number): number[] =>
      Array.from({ length: 200 }, (_, i) => Math.round(4 * (300 + everyC * i + 0.2 * Math.sin(7 * i))) / 4);
    const then = (everyC: number, since: readonly number[], heading: 'up' | 'level' = 'up'): string | null =>
      causeOf(heard([...steps(everyC), ...since], { heading }));
    const last = steps(0.2)[199] ?? 0;
    expect(then(0.2, repeat(last, 26))).toBe('frozen');
    expect(then(0.2, repeat(last, 12))).toBeNull();
    expect(then(0.2, repeat(last, 26), 'level')).toBeNull();
    // At a quarter of the pace no more has gone by in half a minute than a crest hides.
    expect(then(0.05, repeat(steps(0.05)[199] ?? 0, 36))).toBeNull();
  });

  it('calls frozen what says the same for minutes where the plan has let it fall, and no forgotten hold that flickers on', () => {
    const flickers = Array.from({ length: 620 }, (_, i) => Math.round(600 + 0.6 * Math.sin(7 * i * i)));
    const then = (since: readonly number[], heading: 'level' | 'down'): string | null => {
      let health = SOUND;
      for (const [i, celsius] of [...climb(200, 590).map(Math.round), ...flickers.slice(0, 300), ...since].entries()) {
        const context = i < 500 ? ({ heading: 'level' } as const) : ({ heading, heat: 'unknown' } as const);
        health = judgeSensor(health, { atMs: i * 1000, celsius }, { ...usual, ...context });
      }
      return causeOf(health);
    };
    expect(then(repeat(600, 320), 'down')).toBe('frozen');
    expect(then(repeat(600, 320), 'level')).toBeNull();
    expect(then(flickers.slice(300), 'down')).toBeNull();
  });

  it('calls frozen in a hold, after five minutes, what flickered by a tenth and says the same to the last one', () => {
    const random = seededRandom(5);
    const digits = (celsius: number, noiseC: number): number =>
      Math.round((celsius + noiseC * random.gaussian()) * 10) / 10;
    const held = [...climb(200, 590).map((c) => digits(c, 0.06)), ...repeat(600, 300).map((c) => digits(c, 0.06))];
    const then = (since: readonly number[]): string | null => causeOf(heard([...held, ...since], { heading: 'level' }));
    expect(then(repeat(600, 310))).toBe('frozen');
    expect(then(repeat(600, 240))).toBeNull();
    expect(then(repeat(600, 310).map((c) => digits(c, 0.03)))).toBeNull();
  });

  it('calls frozen within a minute and a half what stands still while a couple beside it goes on at the pace that both had', () => {
    const beside = (stillS: number, besidePerS: number): SensorHealth => {
      let health = SOUND;
      for (let s = 0; s < 300 + stillS; s++) {
        const own = 400 + 0.05 * Math.min(s, 300) + 0.2 * (s < 300 ? Math.sin(7 * s) : 0);
        const top = 405 + 0.05 * Math.min(s, 300) + besidePerS * Math.max(s - 300, 0);
        const others = [{ name: 'top', celsius: top, ratePerS: null, wanders: false }];
        const said = { atMs: s * 1000, celsius: Math.round(own * 4) / 4 };
        health = judgeSensor(health, said, { ...usual, others });
      }
      return health;
    };
    expect(causeOf(beside(85, 0.05))).toBe('frozen');
    // Where the other one turns as well, both rest on a crest.
    for (const besidePerS of [0.005, 0.025, -0.02, 0.3]) expect(causeOf(beside(85, besidePerS))).toBeNull();
  });

  it('keeps a couple frozen through one figure that leaps out and back, and lets it go where the figures move', () => {
    const steps = climb(400).map((c, i) => Math.round((c + 0.1 * Math.sin(7 * i)) * 4) / 4);
    const run = [...steps, ...repeat(420, 150)];
    expect(causeOf(heard([...run, 310]))).toBe('frozen');
    expect(causeOf(heard([...run, 310, ...repeat(420, 3)]))).toBe('frozen');
    // What leaps before it is known to be frozen costs no time.
    expect(causeOf(heard([...steps, ...repeat(420, 60), 310, ...repeat(420, 74)]))).toBe('frozen');
    expect(causeOf(heard([...run, 420.25]))).toBeNull();
    expect(causeOf(heard([...run, 310, 311]))).not.toBe('frozen');
  });

  it('calls no couple frozen for what it says again after a pause', () => {
    const steps = climb(300).map((c, i) => Math.round((c + 0.1 * Math.sin(7 * i)) * 4) / 4);
    const last = steps[steps.length - 1] ?? 0;
    const others = (celsius: number) => ({
      ...usual,
      others: [{ name: 'top', celsius, ratePerS: null, wanders: false }],
    });
    let health = heard(steps, others(415));
    for (const s of [3900, 3901, 3902, 3903, 3904, 3905]) {
      health = judgeSensor(health, { atMs: s * 1000, celsius: last }, others(445));
    }
    expect(causeOf(health)).toBeNull();
  });

  it('says nothing of a fall while the kiln is open', () => {
    const fall = Array.from({ length: 400 }, (_, i) => 600 - 100 * Math.min(i / 60, 1) + 0.02 * i);
    expect(causeOf(heard([...climb(300, 585), ...fall], { isOpen: true }))).toBeNull();
    expect(causeOf(heard([...climb(300, 585), ...fall]))).toBe('slipped');
  });

  it('calls slipped, under a lid that is said to be shut, what fell faster than any kiln without power, and has turned', () => {
    const fell = (byC: number, overS: number, thenPerS: number): number[] =>
      Array.from({ length: 360 }, (_, i) => 415 - byC * Math.min(i / overS, 1) + thenPerS * Math.max(i - overS, 0));
    const shut = { isElectric: true, isOpenByHeat: false };
    const then = (fall: readonly number[], context: Partial<HealthContext> = shut): string | null =>
      causeOf(heard([...climb(300), ...fall], context));
    expect(then(fell(24, 70, 0.07).slice(0, 115))).toBe('slipped');
    // Its controller brings it up from there, which is no pushing back.
    expect(then(fell(24, 70, 0.1))).toBe('slipped');
    // Without power, lit again or not; and where it may have been the lid.
    expect(then(fell(60, 300, 0.07))).toBeNull();
    expect(then(fell(16, 100, 0.07))).toBeNull();
    expect(then(fell(24, 70, 0.07).slice(0, 115), { isElectric: true, isOpenByHeat: true })).toBeNull();
  });

  it('takes no fall for a slip that the plan let fall to a lower hold', () => {
    const fall = Array.from({ length: 360 }, (_, i) => 600 - 0.28 * i);
    const plan = [...repeat(600, 300), ...fall, ...repeat(500, 400)];
    let health = SOUND;
    for (const [i, celsius] of plan.entries()) {
      const isFalling = i >= 300 && i < 660;
      const [heading, heat] = isFalling ? (['down', 'unknown'] as const) : (['level', 'on'] as const);
      health = judgeSensor(health, { atMs: i * 1000, celsius: celsius + 0.25 * (i % 2) }, { ...usual, heading, heat });
    }
    expect(causeOf(health)).toBeNull();
  });

  it('takes no fall for a slip that was mostly made good, as by a door near this couple alone', () => {
    const others = [{ name: 'top', celsius: 605, ratePerS: 0, wanders: false }];
    const fall = Array.from({ length: 30 }, (_, i) => 600 - 3.3 * i);
    const rise = Array.from({ length: 40 }, (_, i) => 501 + 2 * i);
    const rest = Array.from({ length: 300 }, (_, i) => 581 + 0.25 * (i % 2));
    const figures = [...climb(300, 585), ...fall];
    expect(causeOf(heard([...figures, ...rise, ...rest], { others }))).toBeNull();
    const low = rest.map((c) => c - 75);
    expect(causeOf(heard([...figures, ...low], { others }))).toBe('slipped');
  });

  it('knows a lone couple that slid out by how it comes to rest, before it climbs on', () => {
    const slides = (i: number): number => 420 + 180 * Math.exp(-i / 40);
    const sealed = Array.from({ length: 110 }, (_, i) => slides(i));
    expect(causeOf(heard([...climb(300, 585), ...sealed]))).toBe('slipped');
    expect(causeOf(heard([...climb(300, 585), ...sealed.slice(0, 60)]))).toBeNull();
  });

  it('takes no door for a slip that stays open, whose air is gone at once and whose walls cool on', () => {
    const opened = Array.from({ length: 600 }, (_, i) => 340 + 90 * Math.exp(-i / 8) + 170 * Math.exp(-i / 300));
    expect(causeOf(heard([...climb(300, 585), ...opened], { isOpenByHeat: true }))).toBeNull();
  });

  it('knows a quick couple that slid out at once where a switch says that no lid was opened', () => {
    const slides = Array.from({ length: 40 }, (_, i) => 300 + 180 * Math.exp(-i / 10) + i / 4);
    const shut = { isElectric: true, isOpenByHeat: false };
    expect(causeOf(heard([...climb(300, 465), ...slides], shut))).toBe('slipped');
    expect(causeOf(heard([...climb(300, 465), ...slides]))).not.toBe('slipped');
  });

  it('keeps the cause that it told first', () => {
    const broken = heard([...climb(60), ...repeat(null, 12), 1372, 1372, 1372, 1372]);
    expect(broken.fault).toMatchObject({ cause: 'open-circuit', sinceMs: 60_000 });
  });

  it('answers whatever comes, the same for the same, and changes nothing that it was handed (seed 4)', () => {
    const celsius = fc.oneof(fc.double(), fc.constantFrom(null, 0, 1372, -32_768, 20), fc.double({ min: 0, max: 700 }));
    const samples = fc.array(fc.record({ celsius, gapMs: fc.integer({ min: 0, max: 90_000 }) }), { maxLength: 60 });
    const others = fc.array(
      fc.record({
        name: fc.constantFrom('top', 'floor'),
        celsius: fc.double({ min: 0, max: 700, noNaN: true }),
        ratePerS: fc.constantFrom(null, 0, 0.05),
        wanders: fc.boolean(),
      }),
      { maxLength: 2 },
    );
    fc.assert(
      fc.property(samples, others, fc.constantFrom('on', 'off', 'unknown'), (said, beside, heat) => {
        const context: HealthContext = { ...usual, heat, others: beside };
        const run = (): SensorHealth => {
          let atMs = 0;
          return said.reduce<SensorHealth>((health, { celsius: c, gapMs }) => {
            atMs += gapMs;
            return judgeSensor(deepFreeze(health), { atMs, celsius: c }, context);
          }, SOUND);
        };
        const once = run();
        expect(run()).toEqual(once);
        const sentence = once.fault?.sentence ?? '';
        expect(sentence).not.toMatch(/NaN|Infinity|undefined|null/);
      }),
      { seed: 4, numRuns: 1500 },
    );
  });
});

function deepFreeze<Value>(value: Value): Value {
  if (typeof value === 'object' && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value);
    for (const part of Object.values(value)) deepFreeze(part);
  }
  return value;
}
