import { describe, expect, test } from 'vitest';
import type { AlertMessage } from '../../daemon/wire/live-messages.ts';
import { curveOfWatch, holdsOf } from '../../web/curve-view.ts';
import { type Dashboard, type Heard, hear, inOrder, statedAgeS } from '../../web/dashboard-state.ts';
import { tickLabel, timeTicks } from '../../web/format.ts';
import { judgeLiveness } from '../../web/liveness.ts';
import { pageTitle } from '../../web/title.ts';
import { traceAndMatt } from '../support/scripted-curve.ts';
import { type Moment, type ScriptedDesk, scriptedDesk } from '../support/scripted-desk.ts';

/** A dashboard that has heard the snapshot and everything after it. */
function listening(moment: Moment): { readonly desk: ScriptedDesk; state(): Dashboard; say(message: Heard): void } {
  const desk = scriptedDesk({ moment });
  let state: Dashboard | null = hear(null, desk.snapshot(true));
  const say = (message: Heard): void => {
    state = hear(state, message);
  };
  desk.listen(say);
  return {
    desk,
    say,
    state() {
      if (state === null) throw new Error('nothing was heard');
      return state;
    },
  };
}

function firstKiln(state: Dashboard) {
  const [kiln] = state.kilns;
  if (kiln === undefined) throw new Error('no kiln');
  return kiln;
}

function firingOf(state: Dashboard): string {
  return firstKiln(state).now.firing?.id ?? '';
}

describe('what the page makes of what it hears', () => {
  test('in the night in which the clock on the wall is set the page goes on by that clock, and its axis has no jump', () => {
    const { desk, state, say } = listening('holding');
    const nowMs = desk.nowMs();
    const shown = (): readonly string[] => {
      const { utcOffsetMinutes } = state().snapshot;
      const { fromMs, toMs } = curveOfWatch(firstKiln(state()), {
        nowMs,
        utcOffsetMinutes,
        reach: 'near',
        isLive: true,
      });
      return timeTicks(fromMs, toMs, utcOffsetMinutes, 8).map((atMs) => tickLabel(atMs, utcOffsetMinutes));
    };
    const [firstBefore] = shown();
    expect(firstBefore).toMatch(/^13:/);
    say({ type: 'heartbeat', atMs: nowMs, ages: {}, signs: {}, utcOffsetMinutes: 0 });
    const after = shown();
    expect(after[0]).toBe(firstBefore?.replace('13:', '12:'));
    const minutes = after.map((label) => Number(label.slice(0, 2)) * 60 + Number(label.slice(3)));
    const steps = minutes.slice(1).map((minute, i) => minute - (minutes[i] ?? 0));
    expect(new Set(steps).size).toBe(1);
  });

  test('messages before the first snapshot are left out', () => {
    expect(hear(null, { type: 'heartbeat', atMs: 1, ages: {}, signs: {} })).toBeNull();
  });

  test('a new reading takes the place of the old one and lengthens the line', () => {
    const { desk, state } = listening('climbing');
    const before = firstKiln(state()).history.traces.upper?.length ?? 0;
    desk.advance(30);
    const kiln = firstKiln(state());
    expect(kiln.now.readings.filter((reading) => reading.sensor === 'upper')).toHaveLength(1);
    expect(kiln.history.traces.upper?.length).toBe(before + 6);
    expect(state().atMs).toBe(desk.nowMs());
  });

  test.each(['late', 'suspect'] as const)(
    'a %s reading is shown as none of now, nor drawn, and says why',
    (quality) => {
      const { state, say } = listening('holding');
      const before = firstKiln(state());
      const [good] = before.now.readings;
      if (good === undefined) throw new Error('no reading');
      const reason = 'further than a kiln moves at once';
      say({ ...good, atMs: good.atMs + 1000, celsius: 1234, quality, reason });
      const after = firstKiln(state());
      expect(after.history).toEqual(before.history);
      expect(after.now.readings.find(({ sensor }) => sensor === good.sensor)).toEqual({ ...good, quality, reason });
      say({ ...good, atMs: good.atMs + 2000, celsius: 660 });
      expect(firstKiln(state()).now.readings.find(({ sensor }) => sensor === good.sensor)).toMatchObject({
        celsius: 660,
        quality: 'good',
      });
    },
  );

  test('a late reading of a couple that has not spoken yet is none', () => {
    const { state, say } = listening('holding');
    const before = firstKiln(state());
    const [good] = before.now.readings;
    if (good === undefined) throw new Error('no reading');
    say({ ...good, sensor: 'new', celsius: 1234, quality: 'late', reason: 'the broker kept it from earlier' });
    expect(firstKiln(state())).toEqual(before);
  });

  test('what the controller says last takes the place of what it said before', () => {
    const { state, say } = listening('climbing');
    const of = { type: 'controller', atMs: 1, kiln: firstKiln(state()).now.id, firing: null } as const;
    say({ ...of, setpointC: 650, outputRatio: 0.8 });
    say({ ...of, setpointC: 660, outputRatio: null });
    expect(firstKiln(state()).now.controller).toMatchObject({ setpointC: 660, outputRatio: null });
  });

  test('a kiln that was taken out of the watch is gone', () => {
    const { state, say } = listening('climbing');
    const ids = (state()?.kilns ?? []).map(({ now }) => now.id);
    say({ type: 'kiln-gone', atMs: 1, kiln: ids[0] ?? '' });
    expect(state()?.kilns.map(({ now }) => now.id)).toEqual(ids.slice(1));
  });

  test('the stored curve is put before what came live meanwhile', async () => {
    const { desk, state, say } = listening('climbing');
    const firing = firingOf(state());
    const curve = await desk.curve(firing, 200);
    desk.advance(30);
    say({ type: 'history', kiln: 'gas', firing, curve });
    const { history } = firstKiln(state());
    expect(history.isWhole).toBe(true);
    expect(history.traces.upper?.[0]?.atMs).toBe(curve.fromMs);
    expect(history.traces.upper?.at(-1)?.atMs).toBe(desk.nowMs());
  });

  test('a curve that comes after its firing is over changes nothing', async () => {
    const { desk, state, say } = listening('climbing');
    const firing = firingOf(state());
    const curve = await desk.curve(firing, 200);
    await desk.deed(firing, 'Hanna', { deed: 'end' });
    say({ type: 'history', kiln: 'gas', firing, curve });
    expect(firstKiln(state()).now.firing).toBeNull();
    expect(firstKiln(state()).history.isWhole).toBe(false);
  });

  test('a fresh snapshot asks for the whole curve again and loses no point that it had', () => {
    const { desk, state, say } = listening('climbing');
    desk.advance(60);
    const before = firstKiln(state()).history.traces.upper;
    say(desk.snapshot(true));
    expect(firstKiln(state()).history.traces.upper).toEqual(before);
    expect(firstKiln(state()).history.isWhole).toBe(false);
  });

  test('an alert that was seen says by whom and stays; one that is gone leaves', async () => {
    const { desk, state } = listening('overshoot');
    const [alert] = firstKiln(state()).now.alerts;
    await desk.alertDeed(alert?.id ?? '', 'Hanna', { deed: 'seen', alertId: alert?.id ?? '' });
    expect(firstKiln(state()).now.alerts[0]).toMatchObject({ life: 'seen', seenBy: 'Hanna' });
    desk.push({ ...(alert as AlertMessage), life: 'gone' });
    expect(firstKiln(state()).now.alerts).toHaveLength(0);
  });

  test('what is over but unseen stays until somebody presses', () => {
    const { state } = listening('over-unseen');
    expect(firstKiln(state()).now.alerts[0]?.life).toBe('over-unseen');
  });

  test('what calls stands above what was seen, the most urgent on top', () => {
    const [alert] = firstKiln(listening('overshoot').state()).now.alerts as [AlertMessage];
    const order = inOrder([
      { ...alert, id: 'seen now', priority: 'now', life: 'seen' },
      { ...alert, id: 'note', priority: 'note' },
      { ...alert, id: 'now', priority: 'now' },
    ]);
    expect(order.map((one) => one.id)).toEqual(['now', 'note', 'seen now']);
  });

  test('an act of the hand comes onto the curve, once', async () => {
    const { desk, state, say } = listening('climbing');
    const firing = firingOf(state());
    await desk.deed(firing, 'Hanna', { deed: 'act', what: 'valve', value: 'mark 3' });
    say({ type: 'history', kiln: 'gas', firing, curve: await desk.curve(firing, 100) });
    const view = curveOfWatch(firstKiln(state()), {
      nowMs: desk.nowMs(),
      utcOffsetMinutes: 60,
      reach: 'near',
      isLive: true,
    });
    expect(view.acts.filter((act) => act.value === 'mark 3')).toHaveLength(1);
  });

  test('"seen" and notes are no acts of the hand and are not drawn', async () => {
    const { desk, state } = listening('overshoot');
    const [alert] = firstKiln(state()).now.alerts;
    await desk.alertDeed(alert?.id ?? '', 'Hanna', { deed: 'seen', alertId: alert?.id ?? '' });
    const view = curveOfWatch(firstKiln(state()), {
      nowMs: desk.nowMs(),
      utcOffsetMinutes: 60,
      reach: 'near',
      isLive: true,
    });
    expect(view.acts.map((act) => act.what)).not.toContain('seen');
  });

  test('a forecast that knows nothing yet does not press the curve flat', () => {
    const { desk, state, say } = listening('climbing');
    const { forecast } = firstKiln(state()).now;
    if (forecast === null) throw new Error('nothing is foreseen');
    const shown = (): number => {
      const moment = { nowMs: desk.nowMs(), utcOffsetMinutes: 60, reach: 'near', isLive: true } as const;
      const { lowC, highC } = curveOfWatch(firstKiln(state()), moment);
      return highC - lowC;
    };
    const beforeC = shown();
    const points = forecast.points.map((point, i) => ({ ...point, lowC: -400 * i, highC: 400 * i }));
    say({ ...forecast, points });
    expect(shown()).toBeGreaterThan(beforeC);
    expect(shown()).toBeLessThan(4 * beforeC);
  });

  test('the hold that is on is labelled with the minutes done, the others with their plan', () => {
    const { state } = listening('holding');
    const { position } = firstKiln(state()).now;
    const holds = holdsOf(position?.planLine ?? [], traceAndMatt, { segment: 2, doneS: position?.holdDoneS ?? 0 });
    expect(holds.map((hold) => [hold.celsius, hold.plannedMinutes, hold.doneMinutes])).toEqual([
      [660, 15, 6],
      [540, 20, null],
    ]);
  });

  test('the age of a reading is looked up by kiln and sensor', () => {
    expect(statedAgeS({ 'gas/upper': 2 }, 'gas', 'upper')).toBe(2);
    expect(statedAgeS({}, 'gas', 'upper')).toBeNull();
  });
});

describe('the title of the tab', () => {
  const fresh = { heardMs: 0, ageS: 1, staleAfterS: 15 };

  test('it is the sentence, with the kiln named once', () => {
    const { state } = listening('holding');
    const title = pageTitle(state(), firstKiln(state()), judgeLiveness(fresh, 500));
    expect(title).toMatch(/^Gas kiln: hold at 660, 6 of 15 min\./);
    expect(title.match(/Gas kiln/g)).toHaveLength(1);
  });

  test('not live it makes no claim about the kiln', () => {
    const { state } = listening('holding');
    expect(pageTitle(state(), firstKiln(state()), judgeLiveness(fresh, 9000))).toBe('NOT LIVE · Gas kiln');
  });

  test('a simulated kiln is called so', () => {
    const simulated = hear(null, scriptedDesk({ moment: 'holding', simulated: { speed: 60 } }).snapshot(true));
    if (simulated === null) throw new Error('nothing was heard');
    expect(pageTitle(simulated, firstKiln(simulated), judgeLiveness(fresh, 500))).toMatch(/^SIMULATED · /);
  });
});
