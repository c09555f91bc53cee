/** A desk for the page's bench: a firing of twelve hours, three sensors, one reading a second, thinned as the daemon does. */

import type { Trace } from '../../daemon/core/report/chronicle.ts';
import { thinCurve } from '../../daemon/core/report/thin-curve.ts';
import type { Desk } from '../../daemon/server/desk.ts';
import type { KilnNow, LiveMessage, ReadingMessage } from '../../daemon/wire/live-messages.ts';
import { scriptedDesk } from '../support/scripted-desk.ts';

export const SENSORS = ['upper', 'lower', 'shelf'] as const;
export const HOURS = 12;
const SECONDS = HOURS * 3600;

export interface PageDesk extends Desk {
  /** One second of the firing: a reading of each sensor, and every so often position and forecast, told to every page. */
  second(): void;
  nowMs(): number;
  celsius(): number;
}

/** A climb, a hold and a fall over twelve hours, with a noise that no two neighbours share. */
function celsiusAt(atS: number, sensor: number): number {
  const hour = atS / 3600;
  const c = hour < 4 ? 20 + hour * 160 : hour < 5 ? 660 : 660 * Math.exp(-(hour - 5) / 6);
  return Math.round((c - sensor * 6 + Math.sin(atS * 1.7 + sensor) * 0.8) * 100) / 100;
}

export function pageDesk(): PageDesk {
  const base = scriptedDesk({ moment: 'holding', kilns: 1 });
  const startedAtMs = base.nowMs();
  let atS = SECONDS;
  const traces: Trace[] = SENSORS.map(() => ({ atMs: [], celsius: [] }));
  const put = (s: number): void =>
    traces.forEach((trace, i) => {
      trace.atMs.push(startedAtMs + s * 1000);
      trace.celsius.push(celsiusAt(s, i));
    });
  for (let s = 0; s <= SECONDS; s++) put(s);
  const nowMs = (): number => startedAtMs + atS * 1000;

  function readings(now: KilnNow): ReadingMessage[] {
    return SENSORS.map((sensor, i) => ({
      type: 'reading',
      atMs: nowMs(),
      sensor,
      celsius: celsiusAt(atS, i),
      uncertaintyC: 2.6,
      quality: 'good',
      kiln: now.id,
      firing: now.firing?.id ?? null,
      line: atS,
      arrivedAtMs: nowMs(),
    }));
  }

  function snapshot(mayCommand: boolean) {
    const known = base.snapshot(mayCommand);
    const kilns = known.kilns.map((now) => {
      const shiftMs = nowMs() - known.atMs;
      const position = now.position === null ? null : shifted(now.position, shiftMs);
      const forecast = now.forecast === null ? null : shifted(now.forecast, shiftMs);
      const firing = now.firing === null ? null : { ...now.firing, startedAtMs };
      return { ...now, sensors: SENSORS, rulingSensor: 'upper', firing, readings: readings(now), position, forecast };
    });
    const ages = Object.fromEntries(kilns.flatMap(({ id }) => SENSORS.map((sensor) => [`${id}/${sensor}`, 0.5])));
    return { ...known, atMs: nowMs(), kilns, ages };
  }

  const listeners = new Set<(message: LiveMessage) => void>();
  const tell = (message: LiveMessage): void => {
    for (const listener of [...listeners]) listener(message);
  };
  return {
    ...base,
    snapshot,
    listen(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    async curve(_id, points) {
      const columns = Math.max(Math.floor(points / 4), 1);
      const sensors = Object.fromEntries(
        SENSORS.map((name, i) => [
          name,
          thinCurve(traces[i] ?? { atMs: [], celsius: [] }, startedAtMs, nowMs(), columns),
        ]),
      );
      const [kiln] = snapshot(true).kilns;
      const plan = kiln?.position?.planLine ?? [];
      return { fromMs: startedAtMs, toMs: nowMs(), sensors, plan, toleranceC: 6, acts: [], alerts: [], gaps: [] };
    },
    second() {
      atS += 1;
      put(atS);
      const [kiln] = snapshot(true).kilns;
      if (kiln === undefined) return;
      for (const reading of kiln.readings) tell(reading);
      if (kiln.position !== null) tell({ ...kiln.position, atMs: nowMs() });
      if (kiln.forecast !== null) tell({ ...kiln.forecast, atMs: nowMs() });
    },
    nowMs,
    celsius: () => celsiusAt(atS, 0),
  };
}

/** The made-up position and forecast of another instant, moved to now. */
function shifted<T>(message: T, byMs: number): T {
  return JSON.parse(JSON.stringify(message), (key, value: unknown) =>
    /AtMs$|^atMs$/.test(key) && typeof value === 'number' ? value + byMs : value,
  ) as T;
}
