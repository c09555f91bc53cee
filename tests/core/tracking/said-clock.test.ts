import { describe, expect, it } from 'vitest';
import { clockOffS, type Heard, judgeSaidTime, type SaidClock } from '../../../daemon/core/tracking/said-clock.ts';

const START_MS = Date.UTC(2026, 2, 14, 9);
const at = (seconds: number): number => START_MS + seconds * 1000;

/** [arrived, said] in seconds; what was made of each. */
function hear(messages: readonly (readonly [number, number])[]): Heard[] {
  let clock: SaidClock | null = null;
  return messages.map(([arrivedS, saidS]) => {
    const heard = judgeSaidTime(clock, at(arrivedS), at(saidS));
    clock = heard.clock;
    return heard;
  });
}
const words = (heard: readonly Heard[]): (number | string)[] =>
  heard.map((one) => (one.is === 'now' ? (one.atMs - START_MS) / 1000 : one.reason));

describe("a board's own time", () => {
  it('puts a reading where it was measured, though the network took its time', () => {
    const heard = hear([
      [0, 0],
      [10, 10],
      [27, 20],
      [31, 30],
    ]);
    expect(words(heard)).toEqual([0, 10, 20, 30]);
  });

  it('of a clock that is a little off is set right by the quickest message', () => {
    expect(
      words(
        hear([
          [0, -12],
          [10, -2],
          [25, 8],
          [30, 18],
        ]),
      ),
    ).toEqual([0, 10, 20, 30]);
    expect(
      words(
        hear([
          [0, 400],
          [10, 410],
          [25, 420],
          [30, 430],
        ]),
      ),
    ).toEqual([0, 10, 20, 30]);
  });

  it('tells what a network brought twice or in the wrong order', () => {
    expect(
      words(
        hear([
          [0, 0],
          [20, 20],
          [20, 10],
          [20, 20],
          [30, 30],
        ]),
      ),
    ).toEqual([0, 20, 'it is older than what is known', 'it was said before', 30]);
  });

  it('tells what was kept back for long, also by a clock that runs ahead', () => {
    expect(
      words(
        hear([
          [0, 0],
          [100, 40],
          [300, 100],
          [301, 301],
        ]),
      ),
    ).toEqual([0, 'it is 60 seconds old by its own time', 'it is 3 minutes old by its own time', 301]);
    expect(
      words(
        hear([
          [0, 600],
          [100, 640],
        ]),
      ),
    ).toEqual([0, 'it is 60 seconds old by its own time']);
  });

  it('tells the person what to mend where all that comes is old', () => {
    const [first] = hear([[0, -300]]);
    expect(first).toMatchObject({
      is: 'late',
      sentence:
        "What comes is 5 minutes old by its own time: the network kept it back, or the board's clock is wrong. Set that clock, or leave timePath out of the configuration.",
    });
  });

  const offAfter = (heard: readonly Heard[]): number => {
    const last = heard.at(-1);
    return last === undefined ? 0 : clockOffS(last.clock);
  };

  it('of a clock that is slow is seen through within a minute, and how slow it is', () => {
    const heard = hear([0, 10, 20, 30, 40, 51, 60].map((s) => [s, s - 90] as const));
    expect(words(heard)).toEqual([...Array(3).fill('it is 90 seconds old by its own time'), 30, 40, 51, 60]);
    expect(heard.map(({ clock }) => clockOffS(clock))).toEqual([0, 0, 0, 90, 90, 90, 90]);
  });

  it('of a slow clock still tells what a network kept back, doubled or swapped', () => {
    const slow = [0, 10, 20, 30, 40].map((s) => [s, s - 90] as const);
    const heard = hear([...slow, [100, -40], [101, 11], [101, 11], [102, 5], [110, 20]]);
    expect(words(heard).slice(5)).toEqual([
      'it is 50 seconds old by its own time',
      101,
      'it was said before',
      'it is older than what is known',
      110,
    ]);
  });

  it('that was set back in the middle, or set right, is followed', () => {
    const right = [0, 10, 20].map((s) => [s, s] as const);
    const back = [30, 40, 50, 60, 70].map((s) => [s, s - 300] as const);
    const again = [80, 90].map((s) => [s, s] as const);
    const heard = hear([...right, ...back, ...again]);
    expect(heard.map((one) => one.is)).toEqual([
      ...Array(3).fill('now'),
      ...Array(3).fill('late'),
      ...Array(4).fill('now'),
    ]);
    expect(words(heard).slice(6)).toEqual([60, 70, 80, 90]);
    expect(offAfter(heard)).toBe(0);
    const fast = [0, 10].map((s) => [s, s + 400] as const);
    const setRight = [20, 30, 40, 50, 60].map((s) => [s, s] as const);
    expect(offAfter(hear(fast))).toBe(-400);
    expect(words(hear([...fast, ...setRight])).slice(-2)).toEqual([50, 60]);
  });

  it('takes no backlog for a slow clock, however slowly it comes', () => {
    // An hour's readings of every ten seconds, brought at one a second: each is nine seconds less old.
    const backlog = Array.from({ length: 360 }, (_, i) => [3600 + i, 10 * i] as const);
    const heard = hear(backlog);
    expect(heard.filter((one) => one.is === 'now' && one.atMs < at(3600))).toEqual([]);
    expect(offAfter(heard)).toBe(0);
  });

  it.each([
    ['1970', -START_MS / 1000],
    ['2036', 315_000_000],
  ])('of a clock that was never set (%s) is not believed, but for the order', (_, offS) => {
    expect(
      words(
        hear([
          [0, offS + 50],
          [10, offS + 60],
          [11, offS + 55],
          [12, offS + 60],
          [20, offS + 70],
        ]),
      ),
    ).toEqual([0, 10, 'it is older than what is known', 'it was said before', 20]);
  });

  it('begins anew with a board that was switched off and on, or that has learned the time', () => {
    const since1970S = START_MS / 1000;
    expect(
      words(
        hear([
          [0, 500 - since1970S],
          [60, 2 - since1970S],
          [70, 70],
          [80, 80],
        ]),
      ),
    ).toEqual([0, 60, 70, 80]);
    expect(
      words(
        hear([
          [0, 0],
          [60, 2 - since1970S],
          [70, 12 - since1970S],
        ]),
      ),
    ).toEqual([0, 60, 70]);
  });
});
