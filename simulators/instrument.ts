/** The instrument that samples the couples: when it reads them, what it stamps on the readings, and what it loses. */
import { type SeededRandom, seededRandom } from '../daemon/core/numbers/seeded-random.ts';
import { drawSeed } from './draw-seed.ts';
import { type ClockFault, instrumentClock } from './instrument-clock.ts';
import { type Couple, type CoupleSpec, type Measured, thermocouple } from './thermocouple.ts';

export interface InstrumentSpec {
  readonly couples: readonly CoupleSpec[];
  /** From one round of readings to the next, above 0; commonly 1 to 30 s. */
  readonly sampleS: number;
  /** A round comes up to so much late, evenly spread; at most half of `sampleS`. */
  readonly jitterS?: number;
  /** From one couple to the next within a round; the whole round takes at most half of `sampleS`. */
  readonly scanS?: number;
  /** Share of the readings that never arrive; a couple's own `missedRatio` arrives, without a temperature. */
  readonly lostRatio?: number;
  /** Share that is sent twice, with the same stamp. */
  readonly doubledRatio?: number;
  /** Share that is sent after its successor, with its own, earlier stamp. */
  readonly swappedRatio?: number;
}

export interface InstrumentRow {
  /** The instrument's own stamp, whole milliseconds. */
  readonly atMs: number;
  readonly sensor: string;
  readonly celsius: number | null;
}

export type LineFault =
  /** Nothing arrives from these sensors, or from any. */
  | { readonly kind: 'silent'; readonly sensors?: readonly string[] }
  /** So much is lost, doubled or swapped on top of what usually is. */
  | {
      readonly kind: 'loose';
      readonly lostRatio?: number;
      readonly doubledRatio?: number;
      readonly swappedRatio?: number;
    };

export type { ClockFault };

export interface Instrument {
  readonly couples: readonly Couple[];
  /** @throws RangeError where there is no couple of that name */
  couple(sensor: string): Couple;
  /**
   * Runs on to that true instant, in which the kiln has just arrived, and gives what is sent meanwhile, in the order
   * sent. The first round is due at `startedAtMs`.
   */
  step(toMs: number): readonly InstrumentRow[];
  /** A fault of another kind comes on top, one of the same kind instead; null mends everything. */
  sufferLine(fault: LineFault | null): void;
  /** Mends this kind alone. */
  mendLine(kind: LineFault['kind']): void;
  /** From the instant reached; null sets the clock right. */
  sufferClock(fault: ClockFault | null): void;
}

/** One couple on its channel. */
interface Channel {
  readonly couple: Couple;
  readonly random: SeededRandom;
  /** How long after the round's beginning it is read. */
  readonly afterS: number;
  /** The instant up to which the couple has been run. */
  ranToMs: number;
  /** Held back, to be sent after the next. */
  held: readonly InstrumentRow[];
}

function checkSpec(spec: InstrumentSpec): void {
  const { sampleS, jitterS = 0, scanS = 0, couples } = spec;
  if (!(sampleS > 0)) throw new RangeError(`sampleS is ${sampleS}; write the seconds between readings, above 0`);
  const roundS = scanS * Math.max(0, couples.length - 1);
  if (!(jitterS >= 0) || !(scanS >= 0) || jitterS > sampleS / 2 || roundS > sampleS / 2) {
    throw new RangeError(`jitterS and a whole scan may take at most half of sampleS, ${sampleS / 2} s`);
  }
  const names = couples.map((c) => c.sensor);
  const twice = names.find((name, i) => names.indexOf(name) !== i);
  if (twice !== undefined) throw new RangeError(`two couples are called "${twice}"; give each a name of its own`);
}

/**
 * The same seed gives the same readings, and a fault changes none that it does not touch.
 *
 * @param startedAtMs the first round's instant, before jitter
 * @throws RangeError where the spec cannot be
 */
export function instrument(spec: InstrumentSpec, plant: Measured, seed: number, startedAtMs: number): Instrument {
  checkSpec(spec);
  const { sampleS, jitterS = 0, scanS = 0 } = spec;
  const rounds = seededRandom(seed);
  const channels: Channel[] = spec.couples.map((c, i) => ({
    couple: thermocouple(c, plant, seededRandom(drawSeed(rounds)), drawSeed(rounds)),
    random: seededRandom(drawSeed(rounds)),
    afterS: i * scanS,
    ranToMs: startedAtMs,
    held: [],
  }));
  const couples = channels.map((c) => c.couple);
  const clock = instrumentClock();
  let lineFaults: readonly LineFault[] = [];
  let reachedMs = startedAtMs;
  let round = 0;
  let roundS = jitterS * rounds.next();
  /** Which channel of the round comes next. */
  let next = 0;

  const dueMs = (channel: Channel): number => startedAtMs + Math.round((roundS + channel.afterS) * 1000);

  function moveOn(): void {
    next += 1;
    if (next < channels.length) return;
    next = 0;
    round += 1;
    roundS = round * sampleS + jitterS * rounds.next();
  }

  function isSilent(sensor: string): boolean {
    for (const f of lineFaults) {
      if (f.kind === 'silent' && (f.sensors === undefined || f.sensors.includes(sensor))) return true;
    }
    return false;
  }

  /** The share of the readings to which this happens, on a loose line too. */
  function share(what: 'lostRatio' | 'doubledRatio' | 'swappedRatio'): number {
    let ratio = spec[what] ?? 0;
    for (const f of lineFaults) if (f.kind === 'loose') ratio += f[what] ?? 0;
    return ratio;
  }

  function runTo(channel: Channel, toMs: number): void {
    if (toMs > channel.ranToMs) channel.couple.step((toMs - channel.ranToMs) / 1000);
    channel.ranToMs = toMs;
  }

  function sample(channel: Channel, atMs: number, sent: InstrumentRow[]): void {
    runTo(channel, atMs);
    const { couple, random } = channel;
    const celsius = couple.read();
    // Each reading takes three random numbers, sent or not.
    const isLost = random.next() < share('lostRatio');
    const isDoubled = random.next() < share('doubledRatio');
    const isSwapped = random.next() < share('swappedRatio');
    const { held } = channel;
    if (isSilent(couple.sensor)) {
      channel.held = [];
      return;
    }
    const row = { atMs: clock.stampMs(atMs), sensor: couple.sensor, celsius };
    const rows = isLost ? [] : isDoubled ? [row, row] : [row];
    // Only neighbours are swapped: what follows a reading held back is not held back itself.
    if (isSwapped && held.length === 0) {
      channel.held = rows;
      return;
    }
    sent.push(...rows, ...held);
    channel.held = [];
  }

  return {
    couples,
    couple(sensor) {
      const found = couples.find((c) => c.sensor === sensor);
      if (found !== undefined) return found;
      throw new RangeError(`there is no couple "${sensor}"; there are ${couples.map((c) => c.sensor).join(', ')}`);
    },
    step(toMs) {
      const sent: InstrumentRow[] = [];
      for (let channel = channels[next]; channel !== undefined; channel = channels[next]) {
        const atMs = dueMs(channel);
        if (atMs > toMs) break;
        sample(channel, atMs, sent);
        moveOn();
      }
      for (const c of channels) runTo(c, toMs);
      reachedMs = toMs;
      return sent;
    },
    sufferLine(fault) {
      if (fault === null) lineFaults = [];
      else lineFaults = [...lineFaults.filter((f) => f.kind !== fault.kind), fault];
    },
    mendLine(kind) {
      lineFaults = lineFaults.filter((f) => f.kind !== kind);
    },
    sufferClock: (fault) => clock.suffer(fault, reachedMs),
  };
}
