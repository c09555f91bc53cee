/** What a record tells of the heat: logged acts, a recorded setting, or the plan where it leaves no doubt. */
import { MS_PER_MIN } from '../numbers/units.ts';
import { isLetFall, mayStandOpen, type Schedule } from '../plan/schedule.ts';
import type { HeatFrom, LeftOut } from './recorded-firing.ts';

/** An act as the page or a file logs it: "valve", "mark 6". */
export interface LoggedAct {
  readonly atMs: number;
  readonly what: string;
  readonly value?: string | undefined;
}

/** A segment of the plan as it was gone through. */
export interface PassedSegment {
  readonly segment: number;
  readonly startedAtMs: number;
  readonly endedAtMs: number;
}

/** A recorded setting: controller output, volts, kW. */
export interface LoggedSetting {
  readonly atMs: number;
  readonly value: number;
}

/** The kiln must find its way back after it stood open; common practice, no source. */
const AFTER_OPENING_MS = 5 * MS_PER_MIN;
/** By hand the gas goes off a little before or after the hold's clock; common practice, no source. */
const BY_HAND_MS = 6 * MS_PER_MIN;

/** The largest mark, voltage or output of all firings counts as full heat, unless a figure is given. */
export function heatOfSettings(settings: readonly LoggedSetting[], full: number): HeatFrom[] {
  return settings.map(({ atMs, value }) => ({ atMs, ratio: Math.max(value, 0) / full }));
}

/** The marks that a hand logged for the valve, by which full heat is found. */
export function largestMark(acts: readonly LoggedAct[]): number {
  return acts.reduce((most, act) => Math.max(most, markOf(act) ?? 0), 0);
}

function markOf(act: LoggedAct): number | null {
  if (thing(act) !== 'valve') return null;
  const figure = /-?\d+(?:[.,]\d+)?/.exec(act.value ?? '')?.[0];
  if (figure === undefined) return null;
  const mark = Number(figure.replace(',', '.'));
  return mark >= 0 ? mark : null;
}

/**
 * Heat by what the hand logged. Before its first word nobody knows; after an electric kiln was switched on the
 * controller does what it likes.
 *
 * @returns null where no act speaks of heat
 */
export function heatOfActs(acts: readonly LoggedAct[], fullMark: number): HeatFrom[] | null {
  let ratio: number | null = null;
  let lastMark: number | null = null;
  const heat: HeatFrom[] = [];
  for (const act of acts) {
    const mark = markOf(act);
    const said = (act.value ?? '').toLowerCase();
    let next: number | null | undefined;
    if (mark !== null) {
      lastMark = fullMark > 0 ? mark / fullMark : null;
      next = lastMark;
    } else if (isHeatOff(thing(act), said)) next = 0;
    else if (thing(act) === 'flame' && said === 'lit') next = lastMark;
    else if (['heat', 'switch'].includes(thing(act)) && said === 'on') next = null;
    if (next === undefined) continue;
    ratio = next;
    heat.push({ atMs: act.atMs, ratio });
  }
  return heat.some((h) => h.ratio !== null) ? heat : null;
}

function isHeatOff(what: string, said: string): boolean {
  if (what === 'gas off' || what === 'heat off') return true;
  if (['gas', 'heat', 'switch'].includes(what)) return said === 'off';
  return what === 'flame' && said === 'out';
}

function thing(act: LoggedAct): string {
  return act.what.trim().toLowerCase();
}

/** Heat by the plan alone: none while it is left to fall, all of it where an electric kiln climbs flat out. */
export function heatOfPlan(schedule: Schedule, passed: readonly PassedSegment[], heat: 'gas' | 'electric'): HeatFrom[] {
  const known: HeatFrom[] = [];
  let wasOff = false;
  for (const { segment, startedAtMs } of passed) {
    const planned = schedule.segments[segment];
    if (planned === undefined) continue;
    const isOff = isLetFall(planned);
    const isFull = heat === 'electric' && planned.kind === 'ramp' && planned.rateCPerH === 'flat-out';
    const slackMs = heat === 'gas' && isOff && !wasOff ? BY_HAND_MS : 0;
    if (slackMs > 0) known.push({ atMs: startedAtMs - slackMs, ratio: null });
    known.push({ atMs: startedAtMs + slackMs, ratio: isOff ? 0 : isFull ? 1 : null });
    wasOff = isOff;
  }
  return known.sort((a, b) => a.atMs - b.atMs);
}

/** Where the plan lets door or lid be other than shut: all that is known where nobody logged it and no switch tells it. */
export function openByPlan(schedule: Schedule, passed: readonly PassedSegment[]): LeftOut[] {
  return passed
    .filter(({ segment }) => mayStandOpen(schedule.segments[segment]))
    .map(({ startedAtMs, endedAtMs }) => ({ fromMs: startedAtMs, toMs: endedAtMs + AFTER_OPENING_MS }));
}

/** Where the door or lid stood open, by acts and by the switch. The end of the record closes what was left open. */
export function openStretches(
  acts: readonly LoggedAct[],
  lid: readonly { readonly atMs: number; readonly open: boolean }[],
  endMs: number,
): LeftOut[] {
  const byActs = acts
    .filter((act) => ['door', 'lid'].includes(thing(act)))
    .map((act) => ({ atMs: act.atMs, open: !/clos|shut/.test((act.value ?? '').toLowerCase()) }));
  return [stretchesOf(byActs, endMs), stretchesOf(lid, endMs)].flat().sort((a, b) => a.fromMs - b.fromMs);
}

function stretchesOf(moves: readonly { readonly atMs: number; readonly open: boolean }[], endMs: number): LeftOut[] {
  const stretches: LeftOut[] = [];
  let openMs: number | null = null;
  for (const { atMs, open } of moves) {
    if (open) openMs ??= atMs;
    else if (openMs !== null) {
      stretches.push({ fromMs: openMs, toMs: atMs + AFTER_OPENING_MS });
      openMs = null;
    }
  }
  if (openMs !== null) stretches.push({ fromMs: openMs, toMs: endMs + AFTER_OPENING_MS });
  return stretches;
}
