/** Puts single readings together to rounds, as a board does that says all its couples at once. Pure. */
import type { DeviceNews, DeviceReading, LidChange } from './device.ts';

export interface Round {
  /** The first reading's stamp. */
  readonly atMs: number;
  readonly readings: readonly DeviceReading[];
  readonly lid: 'open' | 'closed';
  /** 2 where a reading of it came twice: the board says the whole round twice. */
  readonly copies: 1 | 2;
  /** How many readings went into it, those that came twice among them. */
  readonly count: number;
}

export interface Rounds {
  /** The rounds that are over by then, in their order. */
  take(news: DeviceNews, nowMs: number): Round[];
  /** The last one, complete or not. */
  rest(): Round[];
}

/** A couple that has not come by then after the one before it is silent, and the round goes without it. Ours. */
const NEXT_WITHIN_MS = 2000;

/** A round is over when all sensors are in it, when one of them comes again, or when no other comes any more. */
export function rounds(sensors: readonly string[]): Rounds {
  let readings: DeviceReading[] = [];
  let copies: 1 | 2 = 1;
  let count = 0;
  let lid: LidChange['lid'] = 'closed';
  let switched: LidChange[] = [];

  function close(): Round[] {
    const first = readings[0];
    if (first === undefined) return [];
    const lastMs = readings.at(-1)?.atMs ?? first.atMs;
    lid = switched.findLast((change) => change.atMs <= lastMs)?.lid ?? lid;
    switched = switched.filter((change) => change.atMs > lastMs);
    const round: Round = { atMs: first.atMs, readings, lid, copies, count };
    readings = [];
    copies = 1;
    count = 0;
    return [round];
  }

  function add(reading: DeviceReading): Round[] {
    const before = readings.find((r) => r.sensor === reading.sensor);
    if (before?.atMs === reading.atMs) {
      copies = 2;
      count += 1;
      return [];
    }
    const over = before !== undefined || hasStopped(reading.atMs) ? close() : [];
    readings.push(reading);
    count += 1;
    return over;
  }

  function hasStopped(atMs: number): boolean {
    const last = readings.at(-1);
    return last !== undefined && atMs - last.atMs >= NEXT_WITHIN_MS;
  }

  const isWhole = (): boolean => sensors.every((sensor) => readings.some((r) => r.sensor === sensor));

  return {
    take(news, nowMs) {
      switched.push(...news.lid);
      const over: Round[] = [];
      for (const [i, reading] of news.readings.entries()) {
        over.push(...add(reading));
        const next = news.readings[i + 1];
        const isDoubled = next?.sensor === reading.sensor && next.atMs === reading.atMs;
        if (isWhole() && !isDoubled) over.push(...close());
      }
      if (hasStopped(nowMs)) over.push(...close());
      return over;
    },
    rest: close,
  };
}
