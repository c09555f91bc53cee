/**
 * A desk in memory, put at any moment of a made-up firing: for tests of the server and for building the page.
 * Nothing moves by itself: `advance` lets time pass and tells what happens, `push` tells anything else.
 */
import { CATALOGUE } from '../../daemon/core/alerts/catalogue.ts';
import type { ActEvent, AlertEvent } from '../../daemon/core/events.ts';
import type { Deed } from '../../daemon/core/inputs.ts';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { alertStatistics } from '../../daemon/core/report/alert-statistics.ts';
import { usualList } from '../../daemon/core/report/before-lighting.ts';
import { calendarByPlan } from '../../daemon/core/report/calendar.ts';
import { couplesWord } from '../../daemon/core/report/couples.ts';
import type { DoorSign } from '../../daemon/core/report/door-sign.ts';
import { RequestError } from '../../daemon/errors.ts';
import type { Desk } from '../../daemon/server/desk.ts';
import type {
  AlertMessage,
  FiringDetail,
  KilnNow,
  LiveMessage,
  ReadingMessage,
  SnapshotMessage,
} from '../../daemon/wire/live-messages.ts';
import { enamel, layOut, passesAtS, silverStain, spanAt, traceAndMatt } from './scripted-curve.ts';
import {
  celsiusAt,
  clockTime,
  forecastAt,
  positionAt,
  type ScriptedFiring,
  type ScriptedKiln,
  spansOf,
  startC,
  type Turn,
} from './scripted-kiln.ts';
import { curveOf, firingId, pastFirings } from './scripted-past.ts';

export type Moment =
  | 'idle'
  | 'no-plan'
  | 'climbing'
  | 'overshoot'
  | 'holding'
  | 'cooling'
  | 'lid-open'
  | 'silent'
  | 'over-unseen'
  | 'trouble';

export const moments: readonly Moment[] = [
  'idle',
  'no-plan',
  'climbing',
  'overshoot',
  'holding',
  'cooling',
  'lid-open',
  'silent',
  'over-unseen',
  'trouble',
];

export interface ScriptedOptions {
  readonly moment?: Moment;
  /** The instant at which the desk stands; default 18 November 2026, 12:58 UTC. */
  readonly atMs?: number;
  readonly utcOffsetMinutes?: number;
  readonly simulated?: { readonly speed: number } | null;
  /** 1 = the gas kiln alone, 2 = the electric one beside it (the default), `school` = six, each at a moment of its own. */
  readonly kilns?: 1 | 2 | 'school';
}

export interface ScriptedDesk extends Desk {
  /** Tells every listener this message, as it is. */
  push(message: LiveMessage): void;
  /** Lets seconds pass: a reading of each sensor, position and forecast each `sampleS`. */
  advance(seconds: number): void;
  nowMs(): number;
  listenerCount(): number;
  setHealthy(isHealthy: boolean): void;
}

export const sampleS = 5;
export const gasKiln: ScriptedKiln = {
  id: 'gas',
  name: 'Gas kiln',
  heat: 'gas',
  closure: 'door',
  sensors: ['upper', 'lower'],
};
export const electricKiln: ScriptedKiln = {
  id: 'electric',
  name: 'Small kiln',
  heat: 'electric',
  closure: 'lid',
  sensors: ['middle'],
};
const electric = (id: number): ScriptedKiln => ({
  ...electricKiln,
  id: `kiln-${id}`,
  name: `Kiln ${id}`,
});

/** Six kilns of a school, one of them firing with gas. Of `lid-open` and `overshoot` only kiln 4 and kiln 2 know. */
function schoolAt(moment: Moment): readonly { readonly kiln: ScriptedKiln; readonly moment: Moment }[] {
  const isHurt = (of: Moment, calm: Moment): Moment => (moment === of ? of : calm);
  return [
    { kiln: electric(1), moment: 'holding' },
    { kiln: { ...gasKiln, id: 'kiln-2', name: 'Kiln 2' }, moment: isHurt('overshoot', 'climbing') },
    { kiln: electric(3), moment: 'idle' },
    { kiln: electric(4), moment: isHurt('lid-open', 'cooling') },
    { kiln: electric(5), moment: isHurt('silent', 'climbing') },
    { kiln: electric(6), moment: 'cooling' },
  ];
}

const shelf: Readonly<Record<string, Schedule>> = {
  'trace-and-matt': traceAndMatt,
  'enamel-590': enamel,
  'silver-stain': silverStain,
};

/** A kiln as it stands: what changes by deeds and by time. */
interface Standing {
  readonly kiln: ScriptedKiln;
  firing: ScriptedFiring | null;
  turn: Turn | null;
  alerts: AlertMessage[];
  lidOpen: boolean;
  switchedOff: KilnNow['switchedOff'];
  troubles: string[];
  silentSinceMs: number | null;
  line: number;
}

export function scriptedDesk(options: ScriptedOptions = {}): ScriptedDesk {
  const moment = options.moment ?? 'climbing';
  const utcOffsetMinutes = options.utcOffsetMinutes ?? 60;
  let nowMs = options.atMs ?? Date.UTC(2026, 10, 18, 12, 58);
  let isHealthy = true;
  const listeners = new Set<(message: LiveMessage) => void>();
  const places =
    options.kilns === 'school'
      ? schoolAt(moment)
      : [
          { kiln: gasKiln, moment: moment === 'lid-open' ? 'climbing' : moment },
          { kiln: electricKiln, moment: moment === 'lid-open' ? moment : 'idle' } as const,
        ].slice(0, options.kilns ?? 2);
  const kilns = places.map(({ kiln }) => kiln);
  const standings = places.map((place) => standingAt(place.kiln, place.moment, nowMs, utcOffsetMinutes));
  const details = new Map<string, FiringDetail>();
  for (const past of pastFirings(kilns, nowMs)) details.set(past.detail.id, past.detail);
  for (const standing of standings) if (standing.firing !== null) details.set(standing.firing.id, openDetail(standing));

  function push(message: LiveMessage): void {
    for (const listener of [...listeners]) listener(message);
  }

  function openDetail({ kiln, firing, alerts }: Standing): FiringDetail {
    const begun = firing ?? { id: '', startedAtMs: nowMs, schedule: null };
    return {
      id: begun.id,
      kiln: kiln.id,
      kilnName: kiln.name,
      rulingSensor: kiln.sensors[0] ?? '',
      scheduleName: begun.schedule?.name ?? null,
      startedAtMs: begun.startedAtMs,
      endedAtMs: null,
      peakC: {},
      readings: 0,
      alerts: Object.fromEntries(alerts.map((alert) => [alert.alert, 1])),
      sketch: [],
      simulated: options.simulated != null,
      utcOffsetMinutes,
      schedule: begun.schedule,
      holds: [],
      alertList: alerts,
      alertStatistics: alertStatistics(alerts, begun.startedAtMs, nowMs),
      acts: firing === null || nowMs === firing.startedAtMs ? [] : [firstAct(firing)],
      notes: [],
      corrections: [],
      signOffs: [],
      actLines: [],
      figures: null,
      list: null,
      gaps: [],
      lines: 0,
      head: '5feceb66ffc86f38d952786c6d696c79c2dbc239dd4e91b46729d73a27fb57e9',
    };
  }

  /** The detail as it stands this instant: a firing that is on grows with time. */
  function detailNow(id: string): FiringDetail {
    const detail = details.get(id);
    if (detail === undefined) throw notFound('firing', id, 'one of the ids that /api/firings lists');
    const standing = standings.find((one) => one.firing?.id === id);
    if (standing?.firing == null) return detail;
    const { kiln, firing, turn } = standing;
    const readings = Math.max(1, Math.round((nowMs - firing.startedAtMs) / 1000 / sampleS)) * kiln.sensors.length;
    const curve = curveOf(kiln, { ...firing, turn }, firing.startedAtMs, nowMs, 60, { acts: [], alerts: [], gaps: [] });
    const place = spanAt(spansOf(firing), (nowMs - firing.startedAtMs) / 1000)?.segment ?? Number.POSITIVE_INFINITY;
    return {
      ...detail,
      schedule: firing.schedule,
      scheduleName: firing.schedule?.name ?? null,
      peakC: Object.fromEntries(
        kiln.sensors.map((sensor, couple) => [
          sensor,
          Math.max(
            celsiusAt(firing, couple, nowMs, turn),
            ...(curve.sensors[sensor] ?? []).flat().map(([, celsius]) => celsius),
          ),
        ]),
      ),
      readings,
      sketch: (curve.sensors[kiln.sensors[0] ?? ''] ?? []).flat().slice(0, 60),
      holds: (firing.schedule?.segments ?? []).flatMap((segment, index) =>
        segment.kind === 'hold' && index < place
          ? [{ segment: index, plannedMinutes: segment.minutes, inBandMinutes: segment.minutes - 0.7 }]
          : [],
      ),
      alertList: standing.alerts,
      alertStatistics: alertStatistics(standing.alerts, firing.startedAtMs, nowMs),
      alerts: Object.fromEntries(standing.alerts.map((alert) => [alert.alert, 1])),
      lines: standing.line,
    };
  }

  function readingsOf(standing: Standing): readonly ReadingMessage[] {
    const { kiln, firing, turn, silentSinceMs } = standing;
    return kiln.sensors.map((sensor, couple) => {
      const atMs = couple === 0 && silentSinceMs !== null ? silentSinceMs : nowMs;
      return {
        type: 'reading',
        atMs,
        sensor,
        celsius: celsiusAt(firing, couple, atMs, turn),
        uncertaintyC: 2.6,
        quality: 'good',
        kiln: kiln.id,
        firing: firing?.id ?? null,
        line: firing === null ? null : standing.line + couple,
        arrivedAtMs: atMs,
      };
    });
  }

  function kilnNow(standing: Standing): KilnNow {
    const { kiln, firing, turn } = standing;
    const of = { kiln: kiln.id, firing: firing?.id ?? null };
    return {
      id: kiln.id,
      name: kiln.name,
      heat: kiln.heat,
      closure: kiln.closure,
      sensors: kiln.sensors,
      rulingSensor: kiln.sensors[0] ?? '',
      toleranceC: firing?.schedule?.toleranceC ?? 5,
      staleAfterS: 15,
      firing: firing === null ? null : { id: firing.id, startedAtMs: firing.startedAtMs, schedule: firing.schedule },
      sentence:
        firing === null
          ? `${kiln.name}: no firing. Light it when you like; I begin at the first warm reading.`
          : positionAt(kiln, firing, nowMs, turn, utcOffsetMinutes).sentence,
      readings: readingsOf(standing),
      position: firing === null ? null : { ...positionAt(kiln, firing, nowMs, turn, utcOffsetMinutes), ...of },
      forecast: firing === null ? null : { ...forecastAt(firing, nowMs, turn), ...of },
      alerts: standing.alerts,
      switchedOff: standing.switchedOff,
      lidOpen: standing.lidOpen,
      controller: null,
      troubles: standing.troubles,
      sign: signOf(standing, nowMs),
    };
  }

  /** Seconds since each sensor's last reading, by `kiln/sensor`. */
  function ages(): Record<string, number | null> {
    return Object.fromEntries(
      standings.flatMap((standing) =>
        standing.kiln.sensors.map((sensor, couple) => [
          `${standing.kiln.id}/${sensor}`,
          couple === 0 && standing.silentSinceMs !== null ? Math.round((nowMs - standing.silentSinceMs) / 1000) : 1,
        ]),
      ),
    );
  }

  function snapshot(mayCommand: boolean): SnapshotMessage {
    return {
      v: 1,
      type: 'snapshot',
      atMs: nowMs,
      simulated: options.simulated ?? null,
      mayCommand,
      utcOffsetMinutes,
      kilns: standings.map(kilnNow),
      schedules: Object.entries(shelf).map(([key, schedule]) => ({ key, schedule })),
      troubles:
        moment === 'trouble' ? ['profiles/schedules/green.yaml, segment 2: no rate; write rateCPerH: 150.'] : [],
      ages: ages(),
    };
  }

  function advance(seconds: number): void {
    for (let leftS = seconds; leftS > 0; leftS -= sampleS) {
      nowMs += Math.min(sampleS, leftS) * 1000;
      for (const standing of standings) tellSample(standing);
    }
  }

  function tellSample(standing: Standing): void {
    const { kiln, firing, turn } = standing;
    standing.line += kiln.sensors.length;
    for (const reading of readingsOf(standing)) if (reading.atMs === nowMs) push(reading);
    for (const alert of standing.alerts) {
      if (alert.putAsideUntilMs !== undefined && alert.putAsideUntilMs <= nowMs) {
        const { putAsideUntilMs: _, ...rest } = alert;
        setAlert(standing, { ...rest, atMs: nowMs, life: 'calling' });
      }
    }
    if (firing === null) return;
    push({ ...positionAt(kiln, firing, nowMs, turn, utcOffsetMinutes), kiln: kiln.id, firing: firing.id });
    push({ ...forecastAt(firing, nowMs, turn), kiln: kiln.id, firing: firing.id });
  }

  function setAlert(standing: Standing, next: AlertMessage): void {
    standing.alerts = standing.alerts
      .map((one) => (one.id === next.id ? next : one))
      .filter((one) => one.life !== 'gone');
    push(next);
  }

  function tellAct(
    standing: Standing,
    by: string,
    deed: Deed,
    what: string,
    value?: string,
    more: Partial<ActEvent> = {},
  ): void {
    const { firing, kiln } = standing;
    if (firing === null) return;
    const celsius = celsiusAt(firing, 0, nowMs, standing.turn);
    const act: ActEvent = {
      type: 'act',
      atMs: nowMs,
      by,
      deed: deed.deed,
      what,
      ...(value === undefined ? {} : { value }),
      celsius,
      ...more,
    };
    const detail = details.get(firing.id);
    if (detail !== undefined) details.set(firing.id, { ...detail, acts: [...detail.acts, act] });
    standing.line += 1;
    push({ ...act, kiln: kiln.id, firing: firing.id });
  }

  function tellKiln(standing: Standing): void {
    push({ type: 'kiln', atMs: nowMs, kiln: standing.kiln.id, now: kilnNow(standing) });
  }

  function standingOfFiring(id: string): Standing {
    const standing = standings.find((one) => one.firing?.id === id);
    if (standing !== undefined) return standing;
    if (details.has(id)) throw conflict('firing', 'this firing is over', 'a firing that is on');
    throw notFound('firing', id, 'one of the ids that /api/firings lists');
  }

  function readSchedule(schedule: unknown): Schedule | null {
    if (schedule === undefined || schedule === null) return null;
    if (typeof schedule === 'string') {
      const found = shelf[schedule];
      if (found === undefined) throw notFound('schedule', schedule, `one of ${Object.keys(shelf).join(', ')}`);
      return found;
    }
    if (isSchedule(schedule)) return schedule;
    throw new RequestError(400, {
      what: 'not a schedule',
      where: 'schedule',
      right: 'a name and segments, the first of them a ramp',
    });
  }

  async function begin(kilnId: string, schedule: unknown, by: string): Promise<{ id: string }> {
    const standing = standings.find((one) => one.kiln.id === kilnId);
    if (standing === undefined) throw notFound('kiln', kilnId, `one of ${kilns.map((kiln) => kiln.id).join(', ')}`);
    if (standing.firing !== null)
      throw conflict('kiln', `${standing.kiln.name} is firing already`, 'end that firing first');
    const plan = readSchedule(schedule);
    standing.firing = { id: firingId(nowMs, kilnId), startedAtMs: nowMs, schedule: plan };
    standing.turn = null;
    details.set(standing.firing.id, openDetail(standing));
    if (plan !== null) tellAct(standing, by, { deed: 'plan', schedule: plan }, 'plan', plan.name);
    tellKiln(standing);
    return { id: standing.firing.id };
  }

  async function plan(id: string, schedule: unknown, by: string): Promise<void> {
    const standing = standingOfFiring(id);
    const next = readSchedule(schedule);
    if (standing.firing === null || next === null)
      throw conflict('schedule', 'no schedule was given', 'a key or a schedule');
    standing.firing = { ...standing.firing, schedule: next };
    tellAct(standing, by, { deed: 'plan', schedule: next }, 'plan', next.name);
    tellKiln(standing);
  }

  async function deed(id: string, by: string, done: Deed): Promise<void> {
    const detail = details.get(id);
    if (done.deed === 'note' && detail !== undefined) {
      details.set(id, { ...detail, notes: [...detail.notes, { atMs: nowMs, by, text: done.text }] });
      const standing = standings.find((one) => one.firing?.id === id);
      if (standing !== undefined) tellAct(standing, by, done, 'note', done.text);
      return;
    }
    const standing = standingOfFiring(id);
    if (done.deed === 'act') {
      const { what, value, correctsAtMs } = done;
      tellAct(standing, by, done, what, value, correctsAtMs === undefined ? {} : { correctsAtMs });
    }
    if (done.deed === 'list') {
      const sensors = readingsOf(standing).map(({ sensor, celsius }) => ({ name: sensor, celsius }));
      const couples = couplesWord(sensors, done.roomC);
      tellAct(standing, by, done, 'before lighting', undefined, { items: done.items, couples });
    }
    if (done.deed === 'switch-off' || done.deed === 'switch-on') {
      standing.switchedOff = standing.switchedOff.filter((off) => off.alert !== done.alert);
      if (done.deed === 'switch-off') {
        standing.switchedOff = [...standing.switchedOff, { alert: done.alert, by, why: done.why, sinceMs: nowMs }];
      }
      tellAct(standing, by, done, done.alert, done.deed === 'switch-off' ? done.why : undefined);
      tellKiln(standing);
    }
    if (done.deed === 'plan') await plan(id, done.schedule, by);
    if (done.deed === 'end') {
      tellAct(standing, by, done, 'end');
      details.set(id, { ...detailNow(id), endedAtMs: nowMs });
      standing.firing = null;
      standing.turn = null;
      standing.alerts = [];
      tellKiln(standing);
    }
  }

  async function alertDeed(alertId: string, by: string, done: Deed): Promise<void> {
    const standing = standings.find((one) => one.alerts.some((alert) => alert.id === alertId));
    const alert = standing?.alerts.find((one) => one.id === alertId);
    if (standing === undefined || alert === undefined) throw notFound('alert', alertId, 'an alert that the page shows');
    if (done.deed === 'seen' && alert.seenBy === undefined) {
      const { putAsideUntilMs: _, ...rest } = alert;
      setAlert(standing, { ...rest, atMs: nowMs, seenBy: by, life: alert.life === 'over-unseen' ? 'gone' : 'seen' });
      tellAct(standing, by, done, 'seen', alert.alert);
    }
    if (done.deed === 'put-aside') {
      const putAsideUntilMs = nowMs + done.minutes * 60_000;
      setAlert(standing, { ...alert, atMs: nowMs, life: 'put-aside', putAsideUntilMs });
      tellAct(standing, by, done, 'put aside', `${done.minutes} min`);
    }
    if (done.deed === 'reset' && alert.life === 'needs-reset') {
      setAlert(standing, { ...alert, atMs: nowMs, seenBy: by, life: 'gone' });
    }
  }

  return {
    snapshot,
    listen(listener) {
      const own = (message: LiveMessage): void => listener(message);
      listeners.add(own);
      return () => listeners.delete(own);
    },
    isHealthy: () => isHealthy,
    firings: async () => [...details.keys()].map(detailNow).sort((a, b) => b.startedAtMs - a.startedAtMs),
    firing: async (id) => detailNow(id),
    curve: async (id, points) => {
      const detail = detailNow(id);
      const kiln = kilns.find((one) => one.id === detail.kiln) ?? gasKiln;
      const { acts, alertList: alerts, gaps } = detail;
      const turn = standings.find((one) => one.firing?.id === id)?.turn ?? null;
      return curveOf(kiln, { ...detail, turn }, detail.startedAtMs, detail.endedAtMs ?? nowMs, points, {
        acts,
        alerts,
        gaps,
      });
    },
    lastTime: async (id) => {
      const now = detailNow(id);
      const before = [...details.keys()]
        .map(detailNow)
        .sort((a, b) => b.startedAtMs - a.startedAtMs)
        .find((one) => one.endedAtMs !== null && one.kiln === now.kiln && one.scheduleName === now.scheduleName);
      if (before === undefined) return null;
      const { startedAtMs, acts, peakC, rulingSensor } = before;
      return { firing: before.id, startedAtMs, acts, peakC: peakC[rulingSensor] ?? null };
    },
    beforeLighting: async (id, roomC) => {
      const standing = standings.find((one) => one.kiln.id === id);
      if (standing === undefined) throw notFound('kiln', id, `one of ${kilns.map((kiln) => kiln.id).join(', ')}`);
      const sensors = readingsOf(standing).map(({ sensor, celsius }) => ({ name: sensor, celsius }));
      return { items: usualList(standing.kiln), couples: couplesWord(sensors, roomC) };
    },
    calendar(id, key) {
      const kiln = kilns.find((one) => one.id === id);
      const schedule = readSchedule(key);
      if (kiln === undefined || schedule === null) throw notFound('kiln', id, 'a kiln of this desk');
      const setup = {
        ...kiln,
        sensors: kiln.sensors.map((name) => ({ name, letter: 'K' })),
        decodings: {},
        utcOffsetMinutes,
      };
      return { hands: calendarByPlan(schedule, setup, { atMs: nowMs, celsius: startC }), by: 'plan' };
    },
    begin,
    plan,
    deed,
    alertDeed,
    push,
    advance,
    nowMs: () => nowMs,
    listenerCount: () => listeners.size,
    setHealthy(next) {
      isHealthy = next;
    },
  };
}

function notFound(where: string, id: string, right: string): RequestError {
  return new RequestError(404, { what: `there is no ${where} "${id}"`, where, right });
}

function conflict(where: string, what: string, right: string): RequestError {
  return new RequestError(409, { what, where, right });
}

function isSchedule(value: unknown): value is Schedule {
  if (typeof value !== 'object' || value === null) return false;
  const { name, segments } = value as { name?: unknown; segments?: unknown };
  return typeof name === 'string' && Array.isArray(segments) && segments[0]?.kind === 'ramp';
}

function firstAct(firing: ScriptedFiring): ActEvent {
  return {
    type: 'act',
    atMs: firing.startedAtMs + 30_000,
    by: 'Hanna',
    deed: 'act',
    what: 'valve',
    value: 'mark 2',
    celsius: 19,
  };
}

/** Seconds from the start of the trace and matt firing to each moment; the couple is 90 s late. */
const trace = { at430S: 7506, at648S: 13_806, holdS: 14_076, fallingS: 20_200 };

function standingAt(kiln: ScriptedKiln, moment: Moment, nowMs: number, utcOffsetMinutes: number): Standing {
  const standing: Standing = {
    kiln,
    firing: null,
    turn: null,
    alerts: [],
    lidOpen: false,
    switchedOff: [],
    troubles: [],
    silentSinceMs: null,
    line: 0,
  };
  const begin = (sinceS: number, schedule: Schedule | null = traceAndMatt): void => {
    const startedAtMs = nowMs - sinceS * 1000;
    standing.firing = { id: firingId(startedAtMs, kiln.id), startedAtMs, schedule };
    standing.line = Math.round((sinceS / sampleS) * kiln.sensors.length) + 40;
  };
  switch (moment) {
    case 'idle':
      break;
    case 'no-plan':
      begin(1500, null);
      break;
    case 'overshoot':
      begin(trace.at648S);
      overshoot(standing, nowMs, utcOffsetMinutes);
      break;
    case 'holding':
      begin(trace.holdS + 370);
      break;
    case 'over-unseen':
      begin(trace.holdS + 370);
      overUnseen(standing, nowMs);
      break;
    case 'cooling':
      begin(trace.fallingS);
      break;
    case 'silent':
      begin(trace.at430S);
      silent(standing, nowMs);
      break;
    case 'trouble':
      begin(trace.at430S);
      standing.troubles = ['The disk refuses lines: it is full. The watch goes on, the record has a hole. Make room.'];
      break;
    case 'climbing':
      begin(trace.at430S);
      break;
    case 'lid-open':
      return lidOpen(standing, nowMs, utcOffsetMinutes);
  }
  return standing;
}

function alertOf(standing: Standing, rest: Omit<AlertEvent, 'type' | 'id'>): AlertMessage {
  const firing = standing.firing?.id ?? null;
  const rule = CATALOGUE.find((one) => one.alert === rest.alert);
  const words = {
    ifNothing: rule?.consequence ?? '',
    usualCause: rule?.cause ?? '',
    whatToDo: rule?.whatToDo[standing.kiln.heat] ?? '',
    timeToAct: rule?.timeToAct ?? '',
  };
  return { type: 'alert', id: `${firing}-${rest.alert}-1`, ...rest, ...words, kiln: standing.kiln.id, firing };
}

function overshoot(standing: Standing, nowMs: number, utcOffsetMinutes: number): void {
  standing.turn = { kind: 'runs-over', fromMs: nowMs };
  standing.alerts = [
    alertOf(standing, {
      atMs: nowMs,
      alert: 'overshoot',
      phase: 'foreseen',
      priority: 'soon',
      life: 'calling',
      sinceMs: nowMs,
      sensor: standing.kiln.sensors[0],
      leadS: 540,
      forecast: 672,
      forecastAtMs: nowMs + 720_000,
      message: `${standing.kiln.name}: turn down now: 648, heading for 672 about ${clockTime(nowMs + 720_000, utcOffsetMinutes)}. Gas first, damper after.`,
      because:
        'It climbs 2.0 °C a minute and the heat already in the walls carries it on. The hold wants 660 ± 6; at 672 the matt may lose its half-tones.',
    }),
  ];
}

function overUnseen(standing: Standing, nowMs: number): void {
  standing.alerts = [
    alertOf(standing, {
      atMs: nowMs - 240_000,
      alert: 'overshoot',
      phase: 'over',
      priority: 'soon',
      life: 'over-unseen',
      sinceMs: nowMs - 900_000,
      sensor: standing.kiln.sensors[0],
      forecast: 672,
      message: `${standing.kiln.name}: was heading for 672. Turned down in time: highest 664.`,
      because: 'The climb sank from 2.0 to 0.3 °C a minute after the valve was turned.',
    }),
  ];
}

function silent(standing: Standing, nowMs: number): void {
  standing.silentSinceMs = nowMs - 40_000;
  standing.alerts = [
    alertOf(standing, {
      atMs: nowMs - 20_000,
      alert: 'silence',
      phase: 'happening',
      priority: 'now',
      life: 'calling',
      sinceMs: nowMs - 20_000,
      sensor: standing.kiln.sensors[0],
      message: `${standing.kiln.name}: no reading of the ${standing.kiln.sensors[0]} couple for 20 seconds. Assume it is still heating; go to it with the hand pyrometer.`,
      because: 'A reading comes each 5 s; three are missing.',
    }),
  ];
}

function lidOpen(standing: Standing, nowMs: number, utcOffsetMinutes: number): Standing {
  const fall = layOut(enamel, startC).at(-1);
  // 110 s: the couple's lag, and what it has lost since the lid stands open.
  const sinceStartS = (fall === undefined ? 0 : (passesAtS(fall, 330) ?? 0)) + 110;
  const startedAtMs = Math.round(nowMs - sinceStartS * 1000);
  standing.firing = { id: firingId(startedAtMs, standing.kiln.id), startedAtMs, schedule: enamel };
  standing.turn = { kind: 'lid-open', fromMs: nowMs - 40_000 };
  standing.lidOpen = true;
  standing.line = 5100;
  standing.alerts = [
    alertOf(standing, {
      atMs: nowMs - 34_000,
      alert: 'lid-open-hot',
      phase: 'happening',
      priority: 'now',
      life: 'calling',
      sinceMs: nowMs - 40_000,
      sensor: standing.kiln.sensors[0],
      message: `${standing.kiln.name} is open at 310. Close it gently; not before ${clockTime(nowMs + 3.2 * 3_600_000, utcOffsetMinutes)}.`,
      because: 'Glass of 6 mm should not see the room above 150 °C: its face cools faster than its middle.',
    }),
  ];
  return standing;
}

/** What the real desk's sign would say of this made-up kiln. */
function signOf({ kiln, firing, turn, lidOpen: isOpen }: Standing, nowMs: number): DoorSign {
  const celsius = celsiusAt(firing, 0, nowMs, turn);
  if (firing === null) return { word: 'unload', celsius, untilMs: null };
  const { crackAtMs, unloadAtMs, segment } = positionAt(kiln, firing, nowMs, turn, 0);
  if (isOpen) return { word: 'open-hot', celsius, untilMs: crackAtMs };
  const here = firing.schedule?.segments[segment ?? 0];
  const isFalling = here === undefined || (here.kind === 'ramp' && here.rateCPerH === 'let-fall');
  if (!isFalling) return { word: here?.opening === undefined ? 'firing' : 'propped', celsius, untilMs: null };
  if (celsius <= 50) return { word: 'unload', celsius, untilMs: null };
  return celsius <= 150
    ? { word: 'crack', celsius, untilMs: unloadAtMs }
    : { word: 'hot', celsius, untilMs: crackAtMs };
}
