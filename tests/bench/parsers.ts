/** A million cases for everything that makes figures of what arrives: nothing breaks, and nothing is invented. */
import { performance } from 'node:perf_hooks';
import { type SeededRandom, seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import type { ByteOrder, Decoding, RegisterPoint, RegisterType } from '../../daemon/core/plan/kiln.ts';
import { decodeRaw } from '../../daemon/core/reading/decode.ts';
import { lineSplitter } from '../../daemon/inputs/line-splitter.ts';
import { type Found, type Framing, type Question, rtuFraming, tcpFraming } from '../../daemon/inputs/modbus/frames.ts';
import { rtuFrame, tcpFrame, valuesPdu } from '../../simulators/modbus/frames.ts';
import { figure, table } from './figures.ts';

const SEED = 2026;

/** Makes one case and judges what became of it. */
type Trial = (random: SeededRandom) => 'read' | 'refused' | 'invented';

interface Parser {
  readonly name: string;
  readonly cases: number;
  readonly trial: Trial;
}

export async function benchParsers(): Promise<string> {
  const rows: string[][] = [];
  let all = 0;
  for (const { name, cases, trial } of parsers()) {
    const random = seededRandom(SEED);
    const counts = { read: 0, refused: 0, invented: 0, broke: 0 };
    const beganMs = performance.now();
    for (let i = 0; i < cases; i++) {
      try {
        counts[trial(random)] += 1;
      } catch {
        // Whatever it throws is what is counted here.
        counts.broke += 1;
      }
    }
    const eachUs = ((performance.now() - beganMs) * 1000) / cases;
    all += cases;
    rows.push([
      name,
      `${cases}`,
      `${counts.read}`,
      `${counts.refused}`,
      `${counts.invented}`,
      `${counts.broke}`,
      figure(eachUs),
    ]);
  }
  return table(
    `parsers: ${all} cases, some whole, most with bytes changed, lost or doubled; a value is invented where it does not stand in what came; seed ${SEED}`,
    ['', 'cases', 'read', 'refused', 'invented', 'broke', 'µs each, with its making'],
    rows,
  );
}

const below = (random: SeededRandom, n: number): number => Math.floor(random.next() * n);
function oneOf<T>(random: SeededRandom, of: readonly [T, ...T[]]): T {
  return of[below(random, of.length)] ?? of[0];
}

// ---- lines ----

function figureText(random: SeededRandom): string {
  const number = (random.next() * 1400 - 50).toFixed(below(random, 4));
  return oneOf(random, [
    number,
    number,
    number,
    number.replace('.', ','),
    'nan',
    '---',
    '',
    '1e3',
    '0x10',
    `${number} C`,
    `${number}°C`,
    '1,074',
  ]);
}
const columnsLine = (random: SeededRandom): string =>
  [figureText(random), figureText(random)].join(oneOf(random, [',', ';', '\t', ' ', ', ']));
const pairsLine = (random: SeededRandom): string =>
  `t1${oneOf(random, ['=', ' = ', ':'])}${figureText(random)}${oneOf(random, [' ', ';', ', '])}t2=${figureText(random)}`;
const jsonLine = (random: SeededRandom): string =>
  JSON.stringify({
    x: { t1: below(random, 3) === 0 ? figureText(random) : random.next() * 1400 },
    t2: oneOf<unknown>(random, [null, 3, true, [], '650']),
  });
const patternLine = (random: SeededRandom): string =>
  `T ${figureText(random)} / fan${below(random, 9)} ${figureText(random)} C`;

function lineTrial(decoding: Decoding, make: (random: SeededRandom) => string): Trial {
  return (random) => {
    const line = spoiltText(random, make(random));
    const said = decodeRaw({ kind: 'raw', atMs: 0, input: 'one', channel: 'k', text: line }, decoding);
    if (!said.ok) return 'refused';
    const isInvented = said.readings.some((r) => r.kind === 'temperature' && !standsIn(r.temperatureC, line));
    return isInvented ? 'invented' : 'read';
  };
}

/** Each number that can be read in the text, one after the other and with each comma both ways. */
function standsIn(celsius: number, text: string): boolean {
  const figures = text.match(/[+-]?[.,]?\d[\d.,]*(?:[eE][+-]?\d+)?/g) ?? [];
  return figures.some((found) =>
    [found, found.replace(',', '.'), ...found.split(',')].some((way) => Number(way.replace(/[.,]+$/, '')) === celsius),
  );
}

function spoiltText(random: SeededRandom, text: string): string {
  const times = below(random, 4);
  let spoilt = text;
  for (let i = 0; i < times; i++) {
    const at = below(random, spoilt.length + 1);
    const other = String.fromCharCode(
      oneOf(random, [below(random, 128), below(random, 65_536), 48 + below(random, 10)]),
    );
    spoilt = oneOf(random, [
      spoilt.slice(0, at) + spoilt.slice(at + 1),
      spoilt.slice(0, at) + other + spoilt.slice(at),
      spoilt.slice(0, at) + other + spoilt.slice(at + 1),
      spoilt + spoilt.slice(at),
    ]);
  }
  return spoilt;
}

/** Cut anywhere, the bytes are the same lines. */
function splitTrial(random: SeededRandom): 'read' | 'invented' {
  const bytes = Uint8Array.from({ length: below(random, 80) }, () =>
    oneOf(random, [10, 13, 48 + below(random, 10), below(random, 256)]),
  );
  const [whole, parted] = [lineSplitter(), lineSplitter()];
  const lines = whole.push(bytes);
  const pieces: string[] = [];
  for (let from = 0; from < bytes.length; ) {
    const to = from + 1 + below(random, 10);
    pieces.push(...parted.push(bytes.subarray(from, to)));
    from = to;
  }
  return pieces.length === lines.length && pieces.every((line, i) => line === lines[i]) ? 'read' : 'invented';
}

// ---- registers ----

const TYPES = ['int16', 'uint16', 'int32', 'uint32', 'float32'] as const satisfies readonly RegisterType[];
const ORDERS = ['ABCD', 'CDAB', 'BADC', 'DCBA'] as const satisfies readonly ByteOrder[];

function registerTrial(random: SeededRandom): 'read' | 'refused' | 'invented' {
  const words = Array.from({ length: 1 + below(random, 4) }, () =>
    oneOf(random, [below(random, 65_536), 0x7fff, 0x8000, 0x4422, 0]),
  );
  const point: RegisterPoint = {
    gives: { kind: 'sensor', sensor: 'a' },
    channel: 'k',
    place: below(random, 3),
    type: oneOf(random, TYPES),
    order: oneOf(random, ORDERS),
    scale: 1,
    offset: 0,
    degrees: 'C',
    noValue: [],
  };
  const text = words.map((word) => word.toString(16).padStart(4, '0')).join(' ');
  const shown = random.next() < 0.2 ? spoiltText(random, text) : text;
  const said = decodeRaw(
    { kind: 'raw', atMs: 0, input: 'one', channel: 'k', text: shown },
    { kind: 'registers', points: [point] },
  );
  if (!said.ok) return 'refused';
  const [reading] = said.readings;
  if (reading?.kind !== 'temperature') return 'refused';
  const there = shown.split(' ').map((word) => Number.parseInt(word, 16));
  return Math.abs(reading.temperatureC - plainly(there, point)) <= 1e-9 ? 'read' : 'invented';
}

/** Reckoned another way: the bytes put in order one by one. */
function plainly(words: readonly number[], { place, type, order }: RegisterPoint): number {
  const bytes = words.slice(place, place + (type.endsWith('16') ? 1 : 2)).flatMap((word) => [word >>> 8, word & 0xff]);
  const letters = bytes.length === 2 ? (order === 'ABCD' || order === 'CDAB' ? 'AB' : 'BA') : order;
  const sorted = Buffer.from(
    [...bytes.keys()].sort((a, b) => letters.charCodeAt(a) - letters.charCodeAt(b)).map((i) => bytes[i] ?? 0),
  );
  if (type === 'float32') return Number(sorted.readFloatBE().toFixed(9));
  return type.startsWith('u') ? sorted.readUIntBE(0, sorted.length) : sorted.readIntBE(0, sorted.length);
}

// ---- frames ----

const NUMBER = 513;

function frameTrial(framing: Framing, frame: (unit: number, pdu: Uint8Array) => Uint8Array): Trial {
  return (random) => {
    const registerCount = 1 + below(random, 4);
    const question: Question = {
      unit: 1 + below(random, 3),
      functionCode: oneOf(random, [3, 4]),
      address: 0,
      registerCount,
    };
    const values = Array.from({ length: registerCount }, () => below(random, 65_536));
    const answer = frame(question.unit, valuesPdu(question.functionCode, values));
    const bytes = random.next() < 0.2 ? answer : spoiltBytes(random, answer);
    const reader = framing.reader();
    reader.expect(question, NUMBER);
    const found: Found[] = [];
    for (let from = 0; from < bytes.length; ) {
      const to = from + 1 + below(random, 8);
      found.push(...reader.push(bytes.subarray(from, to)));
      from = to;
    }
    const read = found.filter((one) => one.kind === 'words');
    const isInvented = read.some(
      ({ words }) =>
        !holds(bytes, frame(question.unit, valuesPdu(question.functionCode, [...words]))) ||
        words.length !== registerCount,
    );
    if (isInvented) return 'invented';
    return read.length > 0 ? 'read' : 'refused';
  };
}

function holds(bytes: Uint8Array, part: Uint8Array): boolean {
  return Buffer.from(bytes).includes(Buffer.from(part));
}

function spoiltBytes(random: SeededRandom, whole: Uint8Array): Uint8Array {
  const at = below(random, whole.length);
  const noise = Uint8Array.from({ length: below(random, 12) }, () => below(random, 256));
  const flipped = Uint8Array.from(whole);
  flipped[at] = (flipped[at] ?? 0) ^ (1 << below(random, 8));
  return oneOf(random, [
    flipped,
    Uint8Array.of(...whole.subarray(0, at), ...whole.subarray(at + 1)),
    Uint8Array.of(...noise, ...whole),
    Uint8Array.of(...whole.subarray(0, at), ...noise, ...whole.subarray(at)),
    noise,
    Uint8Array.of(...flipped, ...whole),
  ]);
}

// ---- all of them ----

function parsers(): readonly Parser[] {
  return [
    {
      name: 'lines of columns',
      cases: 150_000,
      trial: lineTrial({ kind: 'columns', columns: ['a', 'b'] }, columnsLine),
    },
    {
      name: 'lines of name=value',
      cases: 100_000,
      trial: lineTrial({ kind: 'names', names: { a: 't1', b: 't2' } }, pairsLine),
    },
    {
      name: 'lines of JSON',
      cases: 150_000,
      trial: lineTrial({ kind: 'names', names: { a: 'x.t1', b: 't2' } }, jsonLine),
    },
    {
      name: 'lines of a pattern',
      cases: 100_000,
      trial: lineTrial({ kind: 'pattern', pattern: 'T {a} / {-} {b} C' }, patternLine),
    },
    {
      name: 'payloads of a topic',
      cases: 100_000,
      trial: lineTrial({ kind: 'channels', channels: { k: 'a' } }, (r) => figureText(r)),
    },
    { name: 'bytes cut into lines', cases: 100_000, trial: splitTrial },
    { name: 'registers', cases: 100_000, trial: registerTrial },
    {
      name: 'frames on a serial line',
      cases: 100_000,
      trial: frameTrial(rtuFraming, (unit, pdu) => rtuFrame(unit, pdu)),
    },
    {
      name: 'frames on the network',
      cases: 100_000,
      trial: frameTrial(tcpFraming(), (unit, pdu) => tcpFrame(NUMBER, unit, pdu)),
    },
  ];
}
