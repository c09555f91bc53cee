/** `spyhole listen`: what an instrument says, with every way to read it; and the kiln that was picked, written down. */
import { existsSync } from 'node:fs';
import { basename, dirname, join, relative, resolve } from 'node:path';
import { addKilnToFile, textOfEntry } from '../config/add-kiln.ts';
import { parseKiln } from '../config/kiln-file.ts';
import { loadConfig } from '../config/load.ts';
import { idFor, kilnEntryOf, type Picked } from '../config/new-kiln.ts';
import type { Offer, Way } from '../core/setup/offers.ts';
import { pluggedIn } from '../inputs/serial-ports.ts';
import { systemClock } from '../runtime/clock.ts';
import { type Ear, openEar } from '../runtime/ear.ts';
import { modbusLines } from '../runtime/modbus-lines.ts';
import type { NewKiln, Place } from '../wire/setup.ts';
import { type ListenOptions, numberIn, oneOf, placeOf, textIn, usage } from './listen-place.ts';

/** Long enough for a board that speaks every few seconds. Ours. */
const LISTEN_S = 10;
const LOOK_MS = 100;
const LETTERS: ReadonlySet<string> = new Set(['B', 'E', 'J', 'K', 'N', 'R', 'S', 'T']);

/** What to look at where nothing comes; where the line itself is not there, that was said. */
const SILENCE_MAY_BE: Readonly<Record<Place['kind'], string>> = {
  serial: 'Check the cable and --baud, or listen longer with --seconds.',
  tcp: 'Check the cable between box and instrument, or listen longer with --seconds.',
  mqtt: 'Check that the board publishes to this broker, or listen longer with --seconds.',
  'modbus-rtu': 'Check the cable, --baud, --parity and --unit, or look at others with --register.',
  'modbus-tcp': 'Check --unit, or look at others with --register.',
};

/** @returns 0, or 3 where nothing was heard, or not what was picked @throws DaemonError for wrong usage */
export async function listen(
  options: ListenOptions,
  print: (line: string) => void,
  complain: (sentence: string) => void,
): Promise<number> {
  const place = placeOf(options);
  const wanted = (options.pick ?? []).map(readPick);
  const kiln = kilnOf(options, wanted.length > 0);
  const listenS = numberIn(options.seconds, LISTEN_S, '--seconds', 1, 3600);
  if (place === null) {
    listPorts(print);
    return 0;
  }
  const ca = options.caFile === undefined ? undefined : textIn(options.caFile, '--ca-file');
  const clock = systemClock();
  const ear = openEar(place, { clock, lines: modbusLines(clock), ca });
  const untilMs = clock.realMs() + listenS * 1000;
  const teller = tellWhatComes(ear, print, complain);
  let picks: readonly Picked[] | null = null;
  await new Promise<void>((done) => {
    const stop = clock.every(LOOK_MS, () => {
      teller();
      picks = wanted.length === 0 ? null : found(wanted, ear.now().offers);
      if (picks === null && clock.realMs() < untilMs) return;
      stop();
      done();
    });
  });
  const { offers, state } = ear.now();
  await ear.stop();
  if (picks !== null && kiln !== null) {
    writeKiln({ ...kiln, place, picks }, options, print);
    return 0;
  }
  for (const line of tableOf(offers)) print(line);
  if (offers.length > 0 && wanted.length === 0) return 0;
  if (offers.length > 0) {
    const picked = (options.pick ?? []).join('; ');
    complain(`Not heard: ${picked}. Write --pick as the list above names it: --pick "shelf=column 1 of 2 / C".`);
  } else if (state !== 'lost') {
    complain(`Nothing with a figure in it was heard in ${listenS} s. ${SILENCE_MAY_BE[place.kind]}`);
  }
  return 3;
}

function listPorts(print: (line: string) => void): void {
  const ports = pluggedIn();
  print(ports.length === 0 ? 'No serial port is plugged in.' : 'Serial ports that are plugged in:');
  for (const port of ports) print(`  ${port}`);
  print('Listen to one with --port, or to --mqtt, --tcp, --modbus-rtu or --modbus-tcp; see "spyhole help listen".');
}

/** Tells what has come since it was called last, and each new state once. */
function tellWhatComes(ear: Ear, print: (line: string) => void, complain: (sentence: string) => void): () => void {
  let told = '';
  let last: ReturnType<Ear['now']>['heard'][number] | undefined;
  return () => {
    const { sentence, heard } = ear.now();
    if (sentence !== told && sentence !== '') complain(sentence);
    told = sentence;
    const from = last === undefined ? 0 : heard.indexOf(last) + 1;
    for (const { channel, text } of heard.slice(from)) {
      // biome-ignore lint/suspicious/noControlCharactersInRegex: a terminal must not obey what an instrument prints
      print(`${channel === undefined ? '' : `${channel}: `}${text.replace(/[\u0000-\u001f\u007f-\u009f]/g, '·')}`);
    }
    last = heard.at(-1) ?? last;
  };
}

interface WantedPick {
  readonly sensor: string;
  readonly letter: string;
  readonly place: string;
  readonly way: string;
}

/** `shelf:S=column 1 of 2 / C` */
function readPick(text: string): WantedPick {
  const [, sensor, letter = 'K', place, way] = /^([^=:]+)(?::([A-Z]))?=(.+) \/ ([^/]+)$/.exec(text) ?? [];
  if (sensor === undefined || place === undefined || way === undefined || !LETTERS.has(letter)) {
    throw usage(
      `--pick ${JSON.stringify(text)}: write SENSOR=PLACE / WAY as the list names them, for example "shelf=column 1 of 2 / C"`,
    );
  }
  return { sensor: sensor.trim(), letter, place: place.trim(), way: way.trim() };
}

/** @returns null until all of them were heard */
function found(wanted: readonly WantedPick[], offers: readonly Offer[]): readonly Picked[] | null {
  const picks = wanted.flatMap(({ sensor, letter, place, way: key }) => {
    const offer = offers.find(({ id }) => id === place);
    const way = offer?.ways.find((one) => one.key === key);
    return offer === undefined || way === undefined ? [] : [{ sensor, letter, spot: offer.spot, way }];
  });
  return picks.length === wanted.length ? picks : null;
}

/** One block for each figure: its place, as it came, and every way to read it. */
function tableOf(offers: readonly Offer[]): string[] {
  return offers.flatMap(({ id, text, isCounter, ways }) => {
    const head = `\n${id}: ${text}${isCounter ? '  (counts up: a clock or a running number)' : ''}`;
    if (ways.length === 0) return [`${head}  (no kiln shows this)`];
    return [
      head,
      ...ways.map(
        (way) => `  ${way.celsius.toFixed(1).padStart(7)} °C  ${way.remark.padEnd(16)}  ${keyWords(id, way)}`,
      ),
    ];
  });
}

function keyWords(id: string, { key }: Way): string {
  return `${id} / ${key}`;
}

function kilnOf({ name, heat, closure, config }: ListenOptions, isNeeded: boolean): Omit<NewKiln, 'picks'> | null {
  if (!isNeeded) {
    if ([name, heat, closure, config].every((one) => one === undefined)) return null;
    throw usage('--name, --heat, --closure and --config describe a kiln: name its sensors with --pick');
  }
  if (name === undefined || heat === undefined || closure === undefined) {
    throw usage('with --pick write --name, --heat gas or electric, and --closure lid or door');
  }
  return {
    name,
    heat: oneOf(heat, ['gas', 'electric'] as const, '--heat'),
    closure: oneOf(closure, ['lid', 'door'] as const, '--closure'),
  };
}

function writeKiln(
  kiln: Omit<NewKiln, 'picks'> & { readonly place: Place; readonly picks: readonly Picked[] },
  { config, passwordFile }: ListenOptions,
  print: (line: string) => void,
): void {
  const taken = config !== undefined && existsSync(config) ? loadConfig(config).kilns.map((one) => one.kiln.id) : [];
  const beside = passwordFile === undefined || config === undefined ? passwordFile : besideConfig(passwordFile, config);
  const entry = kilnEntryOf({ ...kiln, id: idFor(kiln.name, taken), passwordFile: beside });
  if (config === undefined) {
    // A file would be looked at as a whole.
    parseKiln(entry, 'the kiln', { withInput: true });
    print(textOfEntry(entry));
    return;
  }
  print(addKilnToFile(config, entry, process.env));
  print(`It stands in ${config}. Start the watch with: spyhole watch --config ${basename(config)}`);
}

/** The configuration names files from its own folder. */
function besideConfig(file: string, config: string): string {
  const path = relative(dirname(resolve(config)), resolve(file));
  return path.startsWith('..') ? resolve(file) : join('.', path);
}
