/** The desk at which the page asks and acts: it knows every kiln's loop, the shelf of schedules and the archive. */

import { type FittedKiln, unsureModelOf } from '../config/fitted-kiln-file.ts';
import { parseSchedule } from '../config/schedule-file.ts';
import type { Shelf } from '../config/shelf.ts';
import { standing } from '../core/alerts/alert.ts';
import { CATALOGUE } from '../core/alerts/catalogue.ts';
import { silentAfterS } from '../core/alerts/rule.ts';
import type { AlertEvent, FiringEvent } from '../core/events.ts';
import type { CouplesWord, Deed } from '../core/inputs.ts';
import { type KilnSetup, rulingSensor } from '../core/plan/kiln.ts';
import type { Schedule } from '../core/plan/schedule.ts';
import { usualList } from '../core/report/before-lighting.ts';
import { calendarByKiln, calendarByPlan } from '../core/report/calendar.ts';
import { couplesWord } from '../core/report/couples.ts';
import { doorSign } from '../core/report/door-sign.ts';
import { idleSentence } from '../core/report/idle.ts';
import { toleranceOf } from '../core/tracking/tolerance.ts';
import { ConfigError, RequestError } from '../errors.ts';
import type { Desk } from '../server/desk.ts';
import type {
  AlertMessage,
  BeforeLighting,
  Calendar,
  Curve,
  FiringDetail,
  FiringRow,
  ForecastMessage,
  KilnNow,
  LastTime,
  LiveMessage,
  PositionMessage,
  ReadingMessage,
  SnapshotMessage,
} from '../wire/live-messages.ts';
import type { Archive } from './archive.ts';
import type { Clock } from './clock.ts';
import type { DiskRoom } from './disk-room.ts';
import type { FiringLoop, LoopListener } from './firing-loop.ts';
import type { RecordKeeper } from './record-keeper.ts';

/** The loop looks at the clock four times a second; one that has not for this long does not judge anything. */
const STUCK_MS = 3000;
/** A room, where no couple has spoken yet. */
const ROOM_C = 20;
/** A couple that has not spoken for so many real seconds is not compared: a slow board speaks each two minutes. */
const FRESH_S = 150;

export interface DeskParts {
  readonly clock: Clock;
  readonly speed: () => number | null;
  readonly shelf: Shelf;
  readonly archive: Archive;
  /** Without it nothing is added to a firing that is over. */
  readonly keeper?: RecordKeeper;
  readonly loops: ReadonlyMap<string, FiringLoop>;
  /** What is known of each kiln's own ways, by its id; nothing of a kiln that was not fitted. */
  readonly fitted: ReadonlyMap<string, FittedKiln>;
  readonly utcOffsetMinutes: () => number;
  readonly troubles: () => readonly string[];
  /** Room on the disk; without it nobody looks before a firing begins. */
  readonly room?: DiskRoom;
}

export class WorkshopDesk implements Desk {
  readonly #parts: DeskParts;
  readonly #listeners = new Set<(message: LiveMessage) => void>();
  /** The last message of each sensor, for the snapshot. */
  readonly #readings = new Map<string, ReadingMessage>();
  /** What each resting kiln's first line said last. */
  readonly #idleSentences = new Map<string, string>();

  constructor(parts: DeskParts) {
    this.#parts = parts;
  }

  /** What a kiln's loop tells, put on the wire. */
  listenerFor(kiln: string): LoopListener {
    const told = (): void => {
      const loop = this.#parts.loops.get(kiln);
      if (loop === undefined) return;
      this.#send({ type: 'kiln', atMs: this.#parts.clock.nowMs(), kiln, now: this.#kilnNow(kiln, loop) });
    };
    return {
      said: (event, firing, line) => this.#said(kiln, event, firing, line),
      changed: told,
      closed: told,
      troubled: () => {
        const troubles = this.#parts.loops.get(kiln)?.troubles ?? [];
        this.#send({ type: 'trouble', atMs: this.#parts.clock.nowMs(), kiln, troubles });
      },
    };
  }

  /** A kiln was set up, or set up otherwise: whoever looks on is shown it too. */
  kilnSet(kiln: string): void {
    this.#forget(kiln);
    this.listenerFor(kiln).changed();
  }

  /** A kiln is watched no more. */
  kilnGone(kiln: string): void {
    this.#forget(kiln);
    this.#send({ type: 'kiln-gone', atMs: this.#parts.clock.nowMs(), kiln });
  }

  /** What it said before was said by another instrument, or meant something else. */
  #forget(kiln: string): void {
    for (const key of [...this.#readings.keys()]) if (key.startsWith(`${kiln}/`)) this.#readings.delete(key);
    this.#idleSentences.delete(kiln);
  }

  #said(kiln: string, event: FiringEvent, firing: string | null, line: number | null): void {
    switch (event.type) {
      case 'reading': {
        const message: ReadingMessage = { ...event, kiln, firing, line, arrivedAtMs: event.arrivedAtMs ?? event.atMs };
        // A reading that is not good is told, but the last good one stays what the page opens with.
        if (event.quality === 'good') this.#readings.set(`${kiln}/${event.sensor}`, message);
        this.#send(message);
        if (firing === null) this.#tellIdle(kiln);
        return;
      }
      case 'alert':
        this.#send(alertMessage(event, kiln, firing, this.#parts.loops.get(kiln)?.state.kiln.heat ?? 'gas'));
        return;
      case 'position':
      case 'forecast':
      case 'act':
      case 'lid':
      case 'controller':
      case 'gap':
        this.#send({ ...event, kiln, firing });
        return;
      case 'rejected': // the loop counts it among its troubles
      case 'call':
      case 'plan':
      case 'ended':
        return;
    }
  }

  /** The first line of a resting kiln names its temperature: it is told anew as that changes. */
  #tellIdle(kiln: string): void {
    const loop = this.#parts.loops.get(kiln);
    if (loop === undefined) return;
    const { state } = loop;
    const celsius = state.sensors[state.rulingSensor]?.last?.celsius ?? null;
    const sentence = idleSentence(state.kiln, celsius, true);
    if (this.#idleSentences.get(kiln) === sentence) return;
    this.#idleSentences.set(kiln, sentence);
    this.#send({ type: 'kiln', atMs: this.#parts.clock.nowMs(), kiln, now: this.#kilnNow(kiln, loop) });
  }

  #send(message: LiveMessage): void {
    for (const listener of this.#listeners) listener(message);
  }

  listen(listener: (message: LiveMessage) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  snapshot(mayCommand: boolean): SnapshotMessage {
    const { clock, shelf, loops, troubles, speed, utcOffsetMinutes } = this.#parts;
    const ages = [...loops].flatMap(([kiln, loop]) =>
      Object.entries(loop.agesS).map(([sensor, ageS]) => [`${kiln}/${sensor}`, ageS] as const),
    );
    const simulatedSpeed = speed();
    return {
      v: 1,
      type: 'snapshot',
      atMs: clock.nowMs(),
      simulated: simulatedSpeed === null ? null : { speed: simulatedSpeed },
      mayCommand,
      utcOffsetMinutes: utcOffsetMinutes(),
      kilns: [...loops].map(([id, loop]) => this.#kilnNow(id, loop)),
      schedules: shelf.schedules,
      troubles: [...shelf.troubles, ...troubles()],
      ages: Object.fromEntries(ages),
    };
  }

  #kilnNow(id: string, loop: FiringLoop): KilnNow {
    const { state, running } = loop;
    const { kiln } = state;
    const ruling = rulingSensor(kiln);
    const firing = running?.id ?? null;
    const track = state.sensors[ruling];
    const readings = kiln.sensors.flatMap(({ name }) => this.#readings.get(`${id}/${name}`) ?? []);
    const celsius = track?.last?.celsius ?? null;
    // The kiln's own time may run faster than the wall's; an age on the page is real seconds.
    const staleAfterS = track === undefined ? 15 : silentAfterS({ kiln }, track) / (this.#parts.speed() ?? 1);
    return {
      id,
      name: kiln.name,
      heat: kiln.heat,
      closure: kiln.closure,
      sensors: kiln.sensors.map((s) => s.name),
      rulingSensor: ruling,
      toleranceC: toleranceOf(kiln, state.schedule),
      staleAfterS: Math.max(10, staleAfterS),
      firing: running === null ? null : { id: running.id, startedAtMs: state.startedAtMs, schedule: state.schedule },
      sentence:
        state.position !== null && running !== null ? state.position.sentence : idleSentence(kiln, celsius, true),
      readings,
      position:
        running === null || state.position === null ? null : (withKiln(state.position, id, firing) as PositionMessage),
      forecast:
        running === null || state.forecast === null ? null : (withKiln(state.forecast, id, firing) as ForecastMessage),
      alerts: running === null ? [] : standing(state.alerts).map((alert) => alertMessage(alert, id, firing, kiln.heat)),
      switchedOff: running === null ? [] : state.alerts.switchedOff,
      lidOpen: state.lid?.open ?? null,
      controller: state.controller === null ? null : { ...state.controller, kiln: id, firing },
      troubles: loop.troubles,
      sign: doorSign(state, running !== null),
    };
  }

  /** Healthy: every loop has looked at its clock lately, and where a firing is on its ruling sensor speaks. */
  isHealthy(): boolean {
    const { clock, loops } = this.#parts;
    return [...loops.values()].every((loop) => {
      if (clock.realMs() - loop.lastLookRealMs > STUCK_MS) return false;
      if (loop.running === null) return true;
      const ruling = loop.state.sensors[loop.state.rulingSensor];
      const ageS = loop.agesS[loop.state.rulingSensor] ?? Number.POSITIVE_INFINITY;
      return ruling !== undefined && ageS <= Math.max(10, silentAfterS(loop.state, ruling));
    });
  }

  firings(): Promise<readonly FiringRow[]> {
    return this.#parts.archive.rows();
  }

  firing(id: string): Promise<FiringDetail> {
    return this.#parts.archive.detail(id);
  }

  curve(id: string, points: number): Promise<Curve> {
    return this.#parts.archive.curve(id, points);
  }

  lastTime(firingId: string): Promise<LastTime | null> {
    return this.#parts.archive.lastTime(firingId);
  }

  async beforeLighting(kiln: string, roomC: number | undefined): Promise<BeforeLighting> {
    const loop = this.#loopOfKiln(kiln);
    const own = await this.#parts.archive.lastList(kiln);
    return { items: own ?? usualList(loop.state.kiln), couples: this.#couplesOf(kiln, loop, roomC) };
  }

  /** By the last reading of each couple, whether it came before a firing began or in it; an old one is none. */
  #couplesOf(kiln: string, loop: FiringLoop, roomC: number | undefined): CouplesWord {
    const ages = loop.agesS;
    const sensors = loop.state.kiln.sensors.map(({ name }) => {
      const isFresh = (ages[name] ?? Number.POSITIVE_INFINITY) <= FRESH_S;
      return { name, celsius: isFresh ? (this.#readings.get(`${kiln}/${name}`)?.celsius ?? null) : null };
    });
    return couplesWord(sensors, roomC);
  }

  calendar(kiln: string, key: string): Calendar {
    const { state } = this.#loopOfKiln(kiln);
    const schedule = this.#findSchedule(key);
    if (schedule === null) return { hands: [], by: 'plan' };
    const fitted = this.#parts.fitted.get(kiln);
    const celsius = state.sensors[rulingSensor(state.kiln)]?.last?.celsius ?? fitted?.roomC ?? ROOM_C;
    const lit = { atMs: this.#parts.clock.nowMs(), celsius };
    if (fitted !== undefined) {
      const { roomC } = fitted;
      return { hands: calendarByKiln(schedule, state.kiln, { ...lit, roomC }, unsureModelOf(fitted)), by: 'kiln' };
    }
    return { hands: calendarByPlan(schedule, state.kiln, lit), by: 'plan' };
  }

  async begin(kiln: string, schedule: unknown, by: string): Promise<{ id: string }> {
    await this.#parts.room?.look();
    const cramped = this.#parts.room?.refusal ?? null;
    if (cramped !== null) {
      const right = 'to make room on it first: a firing needs three times what its record may take';
      throw new RequestError(507, { what: cramped, where: 'the disk', right });
    }
    const id = await this.#loopOfKiln(kiln).begin(this.#findSchedule(schedule), by);
    return { id };
  }

  #loopOfKiln(kiln: string): FiringLoop {
    const loop = this.#parts.loops.get(kiln);
    if (loop !== undefined) return loop;
    const known = [...this.#parts.loops.keys()].join(', ');
    throw new RequestError(404, { what: `there is no kiln ${quote(kiln)}`, where: 'kiln', right: `one of ${known}` });
  }

  async deed(firingId: string, by: string, deed: Deed): Promise<void> {
    const isOn = [...this.#parts.loops.values()].some((loop) => loop.running?.id === firingId);
    // Next morning's word on a crack: the record of a firing that is over takes notes as well.
    const { keeper } = this.#parts;
    if (deed.deed === 'note' && !isOn && keeper) return keeper.add(firingId, { kind: 'note', by, text: deed.text });
    const loop = this.#loopOf(firingId);
    const corrects = deed.deed === 'act' ? deed.correctsAtMs : undefined;
    if (corrects !== undefined && loop.running?.story.acts.some((act) => act.atMs === corrects) !== true) {
      throw new RequestError(404, {
        what: 'no act was logged at that instant',
        where: 'correctsAtMs',
        right: 'the atMs of an act of this firing',
      });
    }
    const isList = deed.deed === 'list' && deed.couples === undefined;
    const said = isList ? { ...deed, couples: this.#couplesOf(loop.state.kiln.id, loop, deed.roomC) } : deed;
    await loop.deed(firingId, by, said);
  }

  async alertDeed(alertId: string, by: string, deed: Deed): Promise<void> {
    for (const loop of this.#parts.loops.values()) {
      const { running } = loop;
      if (running === null || !running.story.alerts.has(alertId)) continue;
      await loop.deed(running.id, by, deed);
      return;
    }
    throw new RequestError(404, {
      what: `no alert ${quote(alertId)} stands`,
      where: 'the id in the address',
      right: 'use the id of an alert of a firing that is on',
    });
  }

  async plan(firingId: string, schedule: unknown, by: string): Promise<void> {
    const found = this.#findSchedule(schedule);
    if (found === null) {
      throw new RequestError(400, {
        what: 'no schedule is given',
        where: 'schedule',
        right: 'a key of the shelf, or a whole schedule',
      });
    }
    await this.#loopOf(firingId).deed(firingId, by, { deed: 'plan', schedule: found });
  }

  #loopOf(firingId: string): FiringLoop {
    for (const loop of this.#parts.loops.values()) if (loop.running?.id === firingId) return loop;
    throw new RequestError(404, {
      what: `firing ${quote(firingId)} is not on`,
      where: 'the id in the address',
      right: 'use the id of the firing that /api/state shows',
    });
  }

  #findSchedule(schedule: unknown): Schedule | null {
    if (schedule === undefined || schedule === null || schedule === '') return null;
    if (typeof schedule === 'string') {
      const found = this.#parts.shelf.schedules.find((s) => s.key === schedule);
      if (found !== undefined) return found.schedule;
      const known = this.#parts.shelf.schedules.map((s) => s.key).join(', ');
      throw new RequestError(404, {
        what: `there is no schedule ${quote(schedule)}`,
        where: 'schedule',
        right: `one of ${known}`,
      });
    }
    try {
      return parseSchedule(schedule, 'schedule');
    } catch (error) {
      if (!(error instanceof ConfigError)) throw error;
      const what = error.faults.map((f) => `${f.where}: ${f.what}`).join('; ');
      throw new RequestError(400, { what, where: 'schedule', right: error.faults.map((f) => f.right).join('; ') });
    }
  }
}

function withKiln<T extends object>(
  event: T,
  kiln: string,
  firing: string | null,
): T & { kiln: string; firing: string | null } {
  return { ...event, kiln, firing };
}

function quote(text: string): string {
  return JSON.stringify(text.slice(0, 80));
}

function alertMessage(alert: AlertEvent, kiln: string, firing: string | null, heat: KilnSetup['heat']): AlertMessage {
  const rule = CATALOGUE.find((one) => one.alert === alert.alert);
  return {
    ...alert,
    kiln,
    firing,
    ifNothing: rule?.consequence ?? '',
    usualCause: rule?.cause ?? '',
    whatToDo: rule?.whatToDo[heat] ?? '',
    timeToAct: rule?.timeToAct ?? '',
  };
}
