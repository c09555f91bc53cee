import { describe, expect, it } from 'vitest';
import { type Heard, judgeSaidTime, type SaidClock } from '../../../daemon/core/tracking/said-clock.ts';

const START_MS = Date.UTC(2026, 2, 14, 9);
const at = (seconds: number): number => START_MS + seconds * 1000;

/** [arrived, said] in seconds; what was made of each. */
function hear(messages: readonly (readonly [number, number])[]): Heard[] {
  let clock: SaidClock | null = null;
  return messages.map(([arrivedS, saidS]) => {
    const heard = judgeSaidTime(clock, at(arrivedS), at(saidS));
    if (heard.is === 'now') clock = heard.clock;
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
