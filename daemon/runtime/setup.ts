/** Sets a kiln up: listens to its instrument, writes what was picked into the configuration, and has it watched. */

import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { isDeepStrictEqual } from 'node:util';
import { addKilnToFile } from '../config/add-kiln.ts';
import { besideFile } from '../config/beside-file.ts';
import { keptBeside, writeSecret } from '../config/config-text.ts';
import { changeKilnInFile, removeKilnFromFile } from '../config/edit-kiln.ts';
import { formOf } from '../config/kiln-form.ts';
import { lineWritten } from '../config/line-written.ts';
import { type InputConfig, type KilnConfig, loadConfig } from '../config/load.ts';
import { idFor, kilnEntryOf, type Picked } from '../config/new-kiln.ts';
import type { KilnSetup } from '../core/plan/kiln.ts';
import { renamedSensors } from '../core/plan/sensor-names.ts';
import { ConfigError, RequestError } from '../errors.ts';
import { pluggedIn } from '../inputs/serial-ports.ts';
import type { SetupDesk } from '../server/setup-desk.ts';
import type { EarNow, KilnAdded, KilnForm, KilnForms, NewKiln, Place, SetupPlaces } from '../wire/setup.ts';
import type { Clock } from './clock.ts';
import { type Ear, openEar } from './ear.ts';
import type { Log } from './log.ts';
import { isModbus } from './make-inputs.ts';
import { lineName } from './modbus-lines.ts';
import type { WatchedKilns } from './watched-kilns.ts';

export interface SetupParts {
  /** The configuration; it need not be there yet. */
  readonly file: string;
  readonly clock: Clock;
  readonly log: Log;
  readonly env: NodeJS.ProcessEnv;
  readonly byIdDir?: string | undefined;
  readonly kilns: WatchedKilns;
  /** Who is to know of it. */
  readonly told: {
    /** A kiln is watched from now on, or watched otherwise. */
    set(kiln: KilnConfig): void;
    gone(id: string): void;
  };
}

/** A page that has not asked for so long is gone, and a port must not stay taken for it. Ours. */
const FORGOTTEN_REAL_MS = 20_000;
const LOOK_EACH_MS = 5000;

export class Setup implements SetupDesk {
  readonly #parts: SetupParts;
  #ear: Ear | null = null;
  #place: Place | null = null;
  #askedRealMs = 0;
  #turn: Promise<unknown> = Promise.resolve();
  readonly #stopLooking: () => void;

  constructor(parts: SetupParts) {
    this.#parts = parts;
    this.#stopLooking = parts.clock.every(LOOK_EACH_MS, () => {
      if (this.#ear !== null && parts.clock.realMs() - this.#askedRealMs > FORGOTTEN_REAL_MS) void this.stopListening();
    });
  }

  places(): SetupPlaces {
    const { byIdDir, file } = this.#parts;
    const ports = pluggedIn(byIdDir).map((path) => {
      const user = this.#userOf(path);
      const at = user?.input !== undefined && user.input.kind === 'modbus-rtu' ? user.input.at : null;
      const line = at !== null && 'baud' in at ? { baud: at.baud, parity: at.parity } : null;
      return { path, usedBy: user?.name ?? null, line };
    });
    return { ports, file };
  }

  /** The kiln that listens at a port, or is read on a line there. */
  #userOf(where: string): { readonly name: string; readonly input: InputConfig } | null {
    for (const { kiln, inputs } of this.#parts.kilns.all) {
      const input = inputs.find((one) =>
        isModbus(one) ? lineName(one.at) === where : 'port' in one && 'baud' in one && one.port === where,
      );
      if (input !== undefined) return { name: kiln.name, input };
    }
    return null;
  }

  /** @throws RequestError where a kiln listens there, and not in a way that could be shared */
  #mustBeFree(place: Place): void {
    const where = placeName(place);
    const user = where === null ? null : this.#userOf(where);
    if (user === null) return;
    const isLine = isModbus(user.input);
    if (isLine && user.input.kind === place.kind) return;
    throw new RequestError(409, {
      what: `${user.name} ${isLine ? `is read there over ${user.input.kind}` : 'listens there already'}`,
      where: 'port' in place ? 'port' : 'address',
      right: isLine ? `listen there over ${user.input.kind} too` : 'choose another port',
    });
  }

  /** One after the other: a port is free only once whoever had it has let go of it. */
  #inTurn<T>(deed: () => Promise<T>): Promise<T> {
    const done = this.#turn.then(deed);
    this.#turn = done.catch(() => undefined);
    return done;
  }

  listenAt(place: Place): Promise<EarNow> {
    return this.#inTurn(() => this.#listenAt(place));
  }

  async #listenAt(place: Place): Promise<EarNow> {
    const { clock, byIdDir, file, kilns } = this.#parts;
    this.#mustBeFree(place);
    await this.#deafen();
    const ca = place.kind === 'mqtt' && place.caFile !== undefined ? readCa(besideFile(place.caFile, file)) : undefined;
    this.#ear = openEar(place, { clock, lines: kilns.lines, byIdDir, ca });
    this.#place = place;
    this.#askedRealMs = clock.realMs();
    return this.#ear.now();
  }

  heard(): EarNow | null {
    this.#askedRealMs = this.#parts.clock.realMs();
    return this.#ear?.now() ?? null;
  }

  #listening(): Ear {
    if (this.#ear !== null) return this.#ear;
    const what = 'nothing is listened to';
    throw new RequestError(404, { what, where: 'the setup', right: 'choose first where the instrument speaks' });
  }

  stopListening(): Promise<void> {
    return this.#inTurn(() => this.#deafen());
  }

  async #deafen(): Promise<void> {
    const ear = this.#ear;
    this.#ear = null;
    await ear?.stop();
  }

  add(kiln: NewKiln): Promise<KilnAdded> {
    return this.#inTurn(() => this.#add(kiln));
  }

  async #add(kiln: NewKiln): Promise<KilnAdded> {
    const ear = this.#listening();
    const place = this.#place;
    if (place === null) throw new TypeError('an ear without its place');
    const { file, kilns, env, log } = this.#parts;
    const id = idFor(
      kiln.name,
      kilns.all.map((one) => one.kiln.id),
    );
    const picks = picksOf(kiln, ear.now());
    const { name, heat, closure } = kiln;
    const secret = place.kind === 'mqtt' ? place.password : undefined;
    const passwordFile = secret === undefined ? undefined : `${id}.password`;
    try {
      const line = lineWritten(file, placeName(place));
      const entry = kilnEntryOf({ id, name, heat, closure, place, line, picks, passwordFile });
      if (passwordFile !== undefined && secret !== undefined) writeSecret(join(dirname(file), passwordFile), secret);
      const yaml = addKilnToFile(file, entry, env);
      // The port must be free before the kiln's own input opens it.
      await this.#deafen();
      this.#watch(id);
      log(`${name} was set up, and stands in ${file}.`);
      return { id, yaml, file };
    } catch (error) {
      throw error instanceof ConfigError ? refusalOf(error) : error;
    }
  }

  forms(): KilnForms {
    const { kilns, file } = this.#parts;
    return { kilns: kilns.all.map(formOf), file, keptAs: keptBeside(file) };
  }

  change(form: KilnForm): Promise<void> {
    return this.#inTurn(() => this.#change(form));
  }

  async #change(form: KilnForm): Promise<void> {
    const { file, log, kilns } = this.#parts;
    const isFired = (kilns.loopOf(form.id)?.running ?? null) !== null;
    if (isFired) await this.#changeInFiring(form);
    else await this.#whileItRests(form.id, () => this.#changed(form));
    const later = isFired ? ' Its sensors keep their names until its firing is over.' : '';
    log(`${form.name} was changed; the file as it was is ${keptBeside(file)}.${later}`);
  }

  /** Where its instruments speak counts at once; what would break its record does not. */
  async #changeInFiring(form: KilnForm): Promise<void> {
    const { kilns, told } = this.#parts;
    const now = kilns.all.find(({ kiln }) => kiln.id === form.id);
    const begun = kilns.loopOf(form.id)?.state.kiln;
    if (now !== undefined && begun !== undefined) mustGoOn(begun, formOf(now), form);
    const config = this.#changed(form);
    await kilns.move(config);
    told.set(config);
  }

  /** @returns how it is set up from now on @throws RequestError where the form asks for what cannot be */
  #changed(form: KilnForm): KilnConfig {
    const { file, env, kilns } = this.#parts;
    const inputs = kilns.all.find(({ kiln }) => kiln.id === form.id)?.inputs ?? [];
    const lastLines = inputs.map(({ name }) => kilns.loopOf(form.id)?.lastTextOf(name));
    try {
      changeKilnInFile(file, form, env, lastLines);
      return configOf(file, form.id, env);
    } catch (error) {
      throw error instanceof ConfigError ? refusalOf(error) : error;
    }
  }

  remove(id: string): Promise<void> {
    return this.#inTurn(() => this.#remove(id));
  }

  async #remove(id: string): Promise<void> {
    const { file, env, log, told } = this.#parts;
    const { name } = await this.#whileItRests(id, () => {
      removeKilnFromFile(file, id, env);
      return null;
    });
    told.gone(id);
    log(`${name} was taken out of the watch; the file as it was is ${keptBeside(file)}.`);
  }

  /** @param edit how it is set up from now on; null where it goes. Where it fails, the kiln is watched on as it was. */
  async #whileItRests(id: string, edit: () => KilnConfig | null): Promise<{ readonly name: string }> {
    const { kilns, told } = this.#parts;
    const before = await kilns.rest(id);
    let after: KilnConfig | null = before;
    try {
      after = edit();
    } catch (error) {
      throw error instanceof ConfigError ? refusalOf(error) : error;
    } finally {
      if (after === null) kilns.forget(id);
      else {
        kilns.prepare(after);
        kilns.start(id);
        told.set(after);
      }
    }
    return { name: before.kiln.name };
  }

  #watch(id: string): void {
    const { file, env, kilns, told } = this.#parts;
    const config = configOf(file, id, env);
    kilns.prepare(config);
    kilns.start(id);
    told.set(config);
  }

  async stop(): Promise<void> {
    this.#stopLooking();
    await this.stopListening();
  }
}

function picksOf({ picks }: NewKiln, { offers }: EarNow): Picked[] {
  return picks.map(({ sensor, letter, offer: id, way: key }) => {
    const offer = offers.find((one) => one.id === id);
    const way = offer?.ways.find((one) => one.key === key);
    if (offer === undefined || way === undefined) {
      throw new RequestError(409, {
        what: `${sensor} was picked from what the instrument no longer says`,
        where: 'picks',
        right: 'pick it anew from what is heard now',
      });
    }
    return { sensor, letter, spot: offer.spot, way };
  });
}

/**
 * What a firing's readings mean must not change under it, and each of its sensors must be known by its place.
 * @param begun as it was when the firing began
 * @throws RequestError
 */
function mustGoOn(begun: KilnSetup, now: KilnForm, form: KilnForm): void {
  const isSame = isDeepStrictEqual(meaningOf(now), meaningOf(form));
  const next = now.sensors.map(({ name }) => form.sensors.find(({ was }) => was === name) ?? { name });
  const renamed = renamedSensors(next, begun.sensors);
  const lost = begun.sensors.find(({ name }, i) => {
    const called = next[i]?.name ?? '';
    return (renamed.get(called) ?? called) !== name;
  });
  if (isSame && lost === undefined) return;
  const what = isSame ? `${lost?.name} is the name of one of its sensors` : 'what its figures mean stays';
  const right = isSame
    ? 'choose a name that none of its sensors has'
    : 'while it is fired change its name, those of its sensors, or where its instruments speak';
  throw new RequestError(409, { what: `${now.name} is being fired: ${what}`, where: 'the kiln', right });
}

function meaningOf({ heat, closure, sensors }: KilnForm) {
  return { heat, closure, sensors: sensors.map(({ name: _name, spot: _spot, ...meaning }) => meaning) };
}

/** As it stands in the file now. @throws ConfigError */
function configOf(file: string, id: string, env: NodeJS.ProcessEnv): KilnConfig {
  const config = loadConfig(file, env).kilns.find((one) => one.kiln.id === id);
  if (config !== undefined) return config;
  const right = 'look into the file: somebody else has written it meanwhile';
  throw new ConfigError(file, [{ what: `the kiln ${id} is not written there`, where: 'kilns', right }]);
}

/** Its port, or HOST:PORT where only one may speak at a time; null where any number may listen. */
function placeName(place: Place): string | null {
  switch (place.kind) {
    case 'serial':
    case 'modbus-rtu':
      return place.port;
    case 'modbus-tcp':
      return place.address;
    case 'tcp':
    case 'mqtt':
      return null;
  }
}

function refusalOf(error: ConfigError): RequestError {
  // One thing at a time: of the rest much follows from the first.
  const [first] = error.faults;
  const { what, where, right } = first ?? { what: error.message, where: 'the configuration', right: '' };
  return new RequestError(409, { what, where: placeWords(where), right });
}

/** Whoever fills in a form knows nothing of `kilns[0].sensors[0].name (line 9)`. */
function placeWords(where: string): string {
  if (/^kilns\[\d+\]\.name\b/.test(where)) return 'the name of the kiln';
  if (/^kilns\[\d+\]\.sensors\[\d+\]\.name\b/.test(where)) return 'the name of a sensor';
  if (/\.(address|url|port|baud|parity)\b/.test(where)) return 'where its instrument speaks';
  if (/\.(columns|names|topics|points)\b/.test(where)) return 'where its figure stands';
  return where;
}

function readCa(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch {
    const right = 'the path of a certificate (PEM) that this user may read';
    throw new RequestError(400, { what: `${file} cannot be read`, where: 'caFile', right });
  }
}
