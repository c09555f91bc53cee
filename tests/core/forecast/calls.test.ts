import { describe, expect, it } from 'vitest';
import type { Call } from '../../../daemon/core/events.ts';
import { answerCalls } from '../../../daemon/core/forecast/calls.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { atS, begin, curve, deed, type Fed, feed, lid, line, START_MS, wait } from '../feeding.ts';

/** 20 to 660 at 240 an hour takes 160 minutes. */
const plan: Schedule = {
  name: 'Matt',
  toleranceC: 6,
  segments: [
    {
      kind: 'ramp',
      toC: 660,
      rateCPerH: 240,
      acts: [
        { when: 'start', do: 'open the vent', callMinutes: 0 },
        { when: { atC: 450 }, do: 'close the vent', callMinutes: 4 },
        { when: 'end', do: 'turn the gas down' },
      ],
    },
    { kind: 'hold', minutes: 15, acts: [{ when: 'end', do: 'gas off, damper after', callMinutes: 3 }] },
    { kind: 'ramp', toC: 150, rateCPerH: 'let-fall' },
  ],
};

const climbAt = (rateCPerH: number, toS: number, from: Fed = begin(plan)) =>
  feed(from, line({ fromS: 0, toS, fromC: 20, rateCPerH }));
const told = (fed: Fed, id: string, state: Call['state']): number | null => {
  const event = fed.events.find((e) => e.type === 'call' && e.call.id === id && e.call.state === state);
  return event === undefined ? null : (event.atMs - START_MS) / 60_000;
};
const stateOf = (fed: Fed, id: string) => fed.state.calls.find((c) => c.id === id)?.state;

describe('the call of the hand', () => {
  it('comes its minutes before the kiln is there, by the plan and the kiln alike', () => {
    const fed = climbAt(240, 9600);
    // 450 °C at minute 107.5, the top at 160.
    expect(told(fed, '0-1', 'due')).toBeGreaterThan(102.5);
    expect(told(fed, '0-1', 'due')).toBeLessThan(104.5);
    expect(told(fed, '0-2', 'due')).toBeGreaterThan(154);
    expect(told(fed, '0-2', 'due')).toBeLessThan(156);
  });

  it('moves with a kiln at half pace: by the forecast, not by the plan', () => {
    const fed = climbAt(120, 19_100);
    expect(told(fed, '0-1', 'due')).toBeGreaterThan(209);
    expect(told(fed, '0-1', 'due')).toBeLessThan(213);
    expect(told(fed, '0-2', 'due')).toBeGreaterThan(313);
    expect(told(fed, '0-2', 'due')).toBeLessThan(317);
  });

  it('comes sooner when the kiln is faster', () => {
    const fed = climbAt(480, 4700);
    expect(told(fed, '0-1', 'due')).toBeGreaterThan(48);
    expect(told(fed, '0-1', 'due')).toBeLessThan(51);
  });

  it('says what to do and when', () => {
    const due = climbAt(240, 9600).events.find((e) => e.type === 'call' && e.call.id === '0-2');
    expect(due).toMatchObject({ call: { do: 'turn the gas down', sentence: 'Turn the gas down at 11:40.' } });
  });

  it('once called stays called, though the kiln slows down on its last degrees', () => {
    const called = climbAt(240, 9360);
    expect(stateOf(called, '0-2')).toBe('due');
    const slow = feed(called, line({ fromS: 9370, toS: 10_800, fromC: 644.1, rateCPerH: 20 }));
    expect(stateOf(slow, '0-2')).toBe('due');
    expect(slow.events.filter((e) => e.type === 'call' && e.call.id === '0-2')).toHaveLength(1);
  });

  it('is answered by the act when it is logged, in its own words or by the thing that was touched', () => {
    const called = climbAt(240, 9360);
    const valve = feed(called, [deed(9365, { deed: 'act', what: 'valve', value: 'mark 3' })]);
    expect(stateOf(valve, '0-2')).toBe('done');
    expect(told(valve, '0-2', 'done')).toBeCloseTo(9365 / 60, 3);
    expect(stateOf(feed(called, [deed(9365, { deed: 'act', what: 'Turn the gas down' })]), '0-2')).toBe('done');
    expect(stateOf(feed(called, [deed(9365, { deed: 'act', what: 'bung' })]), '0-2')).toBe('due');
  });

  it('is answered by an act that was logged before it was due, but by none that came long before', () => {
    // Nine minutes before the top, four before it is called.
    const early = feed(climbAt(240, 9060), [deed(9065, { deed: 'act', what: 'valve', value: 'mark 3' })]);
    expect(stateOf(early, '0-2')).toBe('done');
    const called = feed(early, line({ fromS: 9070, toS: 9600, fromC: 624, rateCPerH: 240 }));
    expect(told(called, '0-2', 'due')).toBeNull();
    // The same turn of the valve at 400 °C set the pace.
    const longBefore = feed(climbAt(240, 5700), [deed(5705, { deed: 'act', what: 'valve', value: 'mark 3' })]);
    expect(stateOf(longBefore, '0-2')).toBe('coming');
  });

  it('comes back when the valve that was turned down early is turned up again', () => {
    const early = feed(climbAt(240, 9060), [deed(9065, { deed: 'act', what: 'valve', value: 'mark 3' })]);
    const again = feed(early, [deed(9090, { deed: 'act', what: 'valve', value: 'mark 4' })]);
    expect(stateOf(early, '0-2')).toBe('done');
    const called = feed(again, line({ fromS: 9100, toS: 9360, fromC: 626, rateCPerH: 240 }));
    expect(stateOf(called, '0-2')).toBe('due');
  });

  it('is not answered by a valve that was turned up', () => {
    const low = feed(climbAt(240, 9060), [deed(9062, { deed: 'act', what: 'valve', value: 'mark 3' })]);
    const once = feed(climbAt(240, 5700), [deed(5705, { deed: 'act', what: 'valve', value: 'mark 3' })]);
    const up = feed(climbAt(240, 9360, once), [deed(9365, { deed: 'act', what: 'valve', value: 'mark 4' })]);
    expect(stateOf(low, '0-2')).toBe('done');
    expect(stateOf(up, '0-2')).toBe('due');
  });

  it('moves with a kiln that falls slower: when it can be cracked is told by the kiln’s own fall', () => {
    const top = feed(climbAt(240, 9600), line({ fromS: 9610, toS: 10_600, fromC: 660, rateCPerH: 0 }));
    const dueInMin = (fallS: number): number => {
      const fallen = feed(
        top,
        curve(10_610, 13_000, (s) => 20 + 640 * Math.exp(-(s - 10_600) / fallS)),
      );
      return ((fallen.state.calls.find((c) => c.id === 'unload')?.dueAtMs ?? 0) - START_MS) / 60_000;
    };
    // 640·e^(−t/τ) = 30: t = 3.06 τ. A fall of forty minutes tells it within a twentieth.
    for (const fallS of [7200, 10_800]) {
      const trueMin = 10_600 / 60 + (fallS * Math.log(640 / 30)) / 60;
      expect(Math.abs(dueInMin(fallS) - trueMin)).toBeLessThan(trueMin / 20);
    }
  });

  it('to crack the door is answered by the door’s own switch', () => {
    const down: Schedule = { ...plan, safeOpenC: 150 };
    const cooled = feed(begin(down), [
      ...curve(0, 9600, (s) => 20 + s / 15),
      ...curve(9610, 10_600, () => 660),
      ...curve(10_610, 22_400, (s) => 20 + 640 * Math.exp(-(s - 10_600) / 7200)),
    ]);
    expect(stateOf(cooled, 'crack')).toBe('due');
    const cracked = feed(cooled, [lid(22_401, false), lid(22_402, true)]);
    expect(stateOf(cracked, 'crack')).toBe('done');
  });

  it('that nobody answered is passed ten minutes after its time', () => {
    const held = feed(climbAt(240, 9600), line({ fromS: 9610, toS: 10_800, fromC: 660, rateCPerH: 0 }));
    expect(stateOf(held, '0-2')).toBe('passed');
    expect(told(held, '0-2', 'passed')).toBeGreaterThan(169);
    expect(told(held, '0-2', 'passed')).toBeLessThan(171);
  });

  it('for the end of a hold comes by the hold’s own count, three minutes before', () => {
    const held = feed(climbAt(240, 9600), line({ fromS: 9610, toS: 10_800, fromC: 660, rateCPerH: 0 }));
    expect(told(held, '1-0', 'due')).toBeGreaterThan(171);
    expect(told(held, '1-0', 'due')).toBeLessThan(173);
  });

  it('comes though the line has gone silent: time alone brings it', () => {
    const silent = wait(climbAt(240, 9200), 9600);
    expect(told(silent, '0-2', 'due')).not.toBeNull();
  });

  it('for what lies behind is not made when a plan is given late', () => {
    const rows = curve(0, 9000, (s) => 20 + s / 15);
    const late = feed(begin(null), [
      ...rows,
      deed(9001, { deed: 'plan', schedule: plan }),
      ...curve(9010, 9060, (s) => 20 + s / 15),
    ]);
    expect(stateOf(late, '0-0')).toBe('passed');
    expect(late.state.calls.find((c) => c.id === '0-2')?.state).toBe('coming');
    expect((late.state.calls.find((c) => c.id === '0-2')?.dueAtMs ?? 0) - atS(9600)).toBeLessThan(60_000);
  });

  it('is not upset by any word that a person may type', () => {
    const call: Call = { id: '0-0', do: 'turn the gas down', dueAtMs: 0, callAtMs: 0, state: 'due', sentence: '' };
    for (const what of ['constructor', 'toString', '__proto__', 'hasOwnProperty', '(']) {
      expect(answerCalls([call], { atMs: 0, what, isUp: false })).toEqual([call]);
    }
  });
});
