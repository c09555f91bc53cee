/** A firing of the corpus goes through a plain watcher, as `alerts-feed.ts` sends it through core. */
import type { AlertKind } from '../../daemon/core/events.ts';
import { fitLine, type TimedC } from '../../daemon/core/numbers/line-fit.ts';
import { rulingSensor } from '../../daemon/core/plan/kiln.ts';
import { type CorpusFiring, LID_CLOSED, LID_OPEN, NO_VALUE, SENSOR_BITS } from './alerts-corpus.ts';
import { type CoupleState, coupleTrouble, hearCouple, NEW_COUPLE, whyNoTemperature } from './alerts-couple-limits.ts';
import type { Heard } from './alerts-feed.ts';
import { firstPlace, nextPlace, type Place } from './alerts-plan-place.ts';
import { alertBook } from './alerts-rival-book.ts';
import { FORESEEN, type Look, type Rules, THRESHOLDS } from './alerts-thresholds.ts';

export type Rival = 'thresholds' | 'line';

const STANDS_S = 30;
const SILENT_S = 120;
const CLOCK_LEAP_S = 60;
const APART_S = 60;
/** Two couples of one kiln are apart in a sound climb as well. */
const APART_AT_LEAST_C = 40;
const HISTORY_S = 1200;
const LINE_S = 300;
/** For a slope so much must be known. */
const LINE_LEAST_S = 240;
/** So cool after it was warm, a firing is over; one that was given up half-way is waited for. */
const COOL_C = 50;
const WARM_C = 100;
const COOL_S = 300;
const GIVEN_UP_S = 2700;

/** It goes by the time at which a row comes; the instrument's stamp is only held against it. */
export function hearRival(rival: Rival, firing: CorpusFiring): Heard {
  const { sensors, stampMs, cameMs, milliC, flags } = firing.rows;
  const book = alertBook();
  const kiln = kilnWatch(rival, firing, book);
  const lastS = new Map(sensors.map((sensor) => [sensor, 0]));
  const offMs = (row: number): number => (stampMs[row] ?? 0) - (cameMs[row] ?? 0);
  let nowS = 0;
  let row = 0;
  for (; row < flags.length && !kiln.isEnded(nowS); row++) {
    const flag = flags[row] ?? 0;
    const sensor = sensors[flag & SENSOR_BITS] ?? '';
    const beforeS = nowS;
    nowS = (cameMs[row] ?? 0) / 1000;
    for (const [one, heardS] of lastS) {
      const isSilent = nowS - heardS > SILENT_S;
      const atS = isSilent ? Math.max(beforeS, heardS + SILENT_S) : nowS;
      book.see({ kind: 'silence', phase: isSilent ? 'happening' : null, atS, heldS: 0, sensor: one });
    }
    lastS.set(sensor, nowS);
    const hasLeapt = Math.abs(offMs(row) - offMs(0)) > 1000 * CLOCK_LEAP_S;
    book.see({ kind: 'clock-trouble', phase: hasLeapt ? 'happening' : null, atS: nowS, heldS: STANDS_S });
    if ((flag & (LID_OPEN | LID_CLOSED)) !== 0) kiln.hearLid((flag & LID_OPEN) !== 0);
    const milli = milliC[row] ?? NO_VALUE;
    kiln.hearFigure(sensor, milli === NO_VALUE ? null : milli / 1000, nowS);
  }
  return { told: book.told, watchedS: nowS, readings: row, bands: [] };
}

function kilnWatch(rival: Rival, { kiln, schedule, toleranceC }: CorpusFiring, book: ReturnType<typeof alertBook>) {
  const safeOpenC = schedule.safeOpenC ?? kiln.safeOpenC ?? 150;
  const ruling = rulingSensor(kiln);
  const foreseen: Rules = rival === 'line' ? FORESEEN : {};
  const couples = new Map<string, CoupleState>();
  let history: TimedC[] = [];
  let place: Place | null = null;
  let isOpen: boolean | null = null;
  let hottestC = Number.NEGATIVE_INFINITY;
  let coolSinceS: number | null = null;

  function judgeKiln(celsius: number, atS: number): void {
    place = nextPlace(schedule, place ?? firstPlace(schedule, atS, celsius), atS, celsius, toleranceC);
    history.push({ atMs: atS * 1000, celsius });
    if (spanS(history) > 2 * HISTORY_S) history = history.filter((r) => r.atMs > 1000 * (atS - HISTORY_S));
    const slopePerS = spanS(history) < LINE_LEAST_S ? null : (fitLine(history, LINE_S)?.slopePerS ?? null);
    const riseOverC = (overS: number): number | null => riseC(history, overS);
    const look: Look = { schedule, toleranceC, safeOpenC, place, celsius, isOpen, atS, slopePerS, riseC: riseOverC };
    for (const kind of Object.keys(THRESHOLDS) as AlertKind[]) {
      const phase = THRESHOLDS[kind]?.(look) ? 'happening' : foreseen[kind]?.(look) ? 'foreseen' : null;
      book.see({ kind, phase, atS, heldS: STANDS_S });
    }
    hottestC = Math.max(hottestC, celsius);
    coolSinceS = hottestC > WARM_C && celsius <= Math.min(COOL_C, safeOpenC) ? (coolSinceS ?? atS) : null;
  }

  function compare(sensor: string, celsius: number, atS: number): void {
    const rulingC = couples.get(ruling)?.lastC ?? celsius;
    const isApart = Math.abs(celsius - rulingC) > Math.max(APART_AT_LEAST_C, 2 * toleranceC);
    book.see({ kind: 'sensors-disagree', phase: isApart ? 'happening' : null, atS, heldS: APART_S, sensor });
  }

  return {
    hearLid(open: boolean): void {
      isOpen = open;
    },
    hearFigure(sensor: string, celsius: number | null, atS: number): void {
      const cause = whyNoTemperature(celsius);
      if (celsius === null || cause !== null) {
        book.see({ kind: 'sensor-fault', phase: 'happening', atS, heldS: STANDS_S, sensor, cause: cause ?? undefined });
        return;
      }
      const couple = hearCouple(couples.get(sensor) ?? NEW_COUPLE, atS, celsius);
      couples.set(sensor, couple);
      if (couple.oddSinceS !== null) return;
      const trouble = coupleTrouble(couple, place?.index === 0);
      const phase = trouble === null ? null : 'happening';
      book.see({ kind: 'sensor-fault', phase, atS, heldS: 0, sensor, cause: trouble ?? undefined });
      if (sensor !== ruling) {
        compare(sensor, celsius, atS);
        return;
      }
      if (couple.hasJumped) history = [];
      judgeKiln(celsius, atS);
    },
    isEnded: (atS: number): boolean =>
      coolSinceS !== null && atS - coolSinceS > (place?.stretch === 'over' ? COOL_S : GIVEN_UP_S),
  };
}

const spanS = (history: readonly TimedC[]): number => ((history.at(-1)?.atMs ?? 0) - (history[0]?.atMs ?? 0)) / 1000;

/** Since the last reading that is at least so old, if it is not much older. */
function riseC(history: readonly TimedC[], overS: number): number | null {
  const last = history.at(-1);
  const then = last && history.findLast((r) => last.atMs - r.atMs >= 1000 * overS);
  if (last === undefined || then === undefined || last.atMs - then.atMs > 2000 * overS) return null;
  return last.celsius - then.celsius;
}
