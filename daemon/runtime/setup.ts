/** Sets a kiln up: listens to its instrument, writes what was picked into the configuration, and has it watched. */
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { addKilnToFile, writeSecret } from '../config/add-kiln.ts';
import { besideFile } from '../config/beside-file.ts';
import { type KilnConfig, loadConfig } from '../config/load.ts';
import { idFor, kilnEntryOf, type Picked } from '../config/new-kiln.ts';
import { ConfigError, RequestError } from '../errors.ts';
import { pluggedIn } from '../inputs/serial-ports.ts';
import type { SetupDesk } from '../server/setup-desk.ts';
import type { EarNow, KilnAdded, NewKiln, Place, SetupPlaces } from '../wire/setup.ts';
import type { Clock } from './clock.ts';
import { type Ear, openEar } from './ear.ts';
import type { Log } from './log.ts';

export interface SetupParts {
  /** The configuration; it need not be there yet. */
  readonly file: string;
  readonly clock: Clock;
  readonly log: Log;
  readonly env: NodeJS.ProcessEnv;
  readonly byIdDir?: string | undefined;
  /** Kilns that are watched already. */
  readonly kilns: () => readonly KilnConfig[];
  /** Has one more kiln watched from now on. */
  readonly watchKiln: (kiln: KilnConfig) => Promise<void>;
}

/** A page that has not asked for so long is gone, and a port must not stay taken for it. Ours. */
const FORGOTTEN_REAL_MS = 20_000;
const LOOK_EACH_MS = 5000;

export class Setup implements SetupDesk {
  readonly #parts: SetupParts;
  #ear: Ear | null = null;
  #place: Place | null = null;
  #askedRealMs = 0;
  readonly #stopLooking: () => void;

  constructor(parts: SetupParts) {
    this.#parts = parts;
    this.#stopLooking = parts.clock.every(LOOK_EACH_MS, () => {
      if (this.#ear !== null && parts.clock.realMs() - this.#askedRealMs > FORGOTTEN_REAL_MS) void this.stopListening();
    });
  }

  places(): SetupPlaces {
    const { byIdDir, file } = this.#parts;
    const ports = pluggedIn(byIdDir).map((path) => ({ path, usedBy: this.#userOf(path) }));
    return { ports, file };
  }

  #userOf(port: string): string | null {
    const user = this.#parts
      .kilns()
      .find(({ inputs }) =>
        inputs.some(
          (input) =>
            ('port' in input && input.port === port) || ('at' in input && 'port' in input.at && input.at.port === port),
        ),
      );
    return user?.kiln.name ?? null;
  }

  async listenAt(place: Place): Promise<EarNow> {
    const { clock, byIdDir, file } = this.#parts;
    const port = 'port' in place ? place.port : null;
    const user = port === null ? null : this.#userOf(port);
    if (user !== null) {
      throw new RequestError(409, {
        what: `${user} listens there already`,
        where: 'port',
        right: 'choose another port',
      });
    }
    await this.stopListening();
    const ca = place.kind === 'mqtt' && place.caFile !== undefined ? readCa(besideFile(place.caFile, file)) : undefined;
    this.#ear = openEar(place, clock, byIdDir, ca);
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

  async stopListening(): Promise<void> {
    const ear = this.#ear;
    this.#ear = null;
    await ear?.stop();
  }

  async add(kiln: NewKiln): Promise<KilnAdded> {
    const ear = this.#listening();
    const place = this.#place;
    if (place === null) throw new TypeError('an ear without its place');
    const { file, kilns, env, log, watchKiln } = this.#parts;
    const id = idFor(
      kiln.name,
      kilns().map((one) => one.kiln.id),
    );
    const picks = picksOf(kiln, ear.now());
    const { name, heat, closure } = kiln;
    const secret = place.kind === 'mqtt' ? place.password : undefined;
    const passwordFile = secret === undefined ? undefined : `${id}.password`;
    try {
      const entry = kilnEntryOf({ id, name, heat, closure, place, picks, passwordFile });
      if (passwordFile !== undefined && secret !== undefined) writeSecret(join(dirname(file), passwordFile), secret);
      const yaml = addKilnToFile(file, entry, env);
      const written = loadConfig(file, env).kilns.find((one) => one.kiln.id === id);
      // The port must be free before the kiln's own input opens it.
      await this.stopListening();
      if (written !== undefined) await watchKiln(written);
      log(`${name} was set up, and stands in ${file}.`);
      return { id, yaml, file };
    } catch (error) {
      throw error instanceof ConfigError ? refusalOf(error) : error;
    }
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

function refusalOf(error: ConfigError): RequestError {
  const [first] = error.faults;
  const what = error.faults.map((fault) => fault.what).join('; ');
  return new RequestError(409, { what, where: first?.where ?? 'the configuration', right: first?.right ?? '' });
}

function readCa(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch {
    const right = 'the path of a certificate (PEM) that this user may read';
    throw new RequestError(400, { what: `${file} cannot be read`, where: 'caFile', right });
  }
}
