import { describe, expect, it } from 'vitest';
import { playRows, readingsOfCsv } from '../../simulators/play-csv.ts';
import { manualWaits } from '../support/manual-waits.ts';

const row = (s: number) => ({ atMs: 1_000_000 + s * 1000 });

describe('playing recorded readings', () => {
  it('sends each row at its due time, sixty times faster', async () => {
    const clock = manualWaits();
    const sent: [number, number][] = [];
    const playing = playRows([row(0), row(30), row(30), row(90)], 60, clock, (r) =>
      sent.push([r.atMs, clock.realMs()]),
    );
    await clock.passNextWait();
    await clock.passNextWait();
    await playing.done;
    expect(sent).toEqual([
      [1_000_000, 0],
      [1_030_000, 500],
      [1_030_000, 500],
      [1_090_000, 1500],
    ]);
  });

  it('does not carry a delay on: after a late row the next is due at its own time', async () => {
    const clock = manualWaits();
    const sent: number[] = [];
    const playing = playRows([row(0), row(1), row(2), row(3)], 1, clock, () => sent.push(clock.realMs()));
    clock.pass(1700);
    expect(sent).toEqual([0, 1700]);
    expect(clock.asked.at(-1)).toBe(300);
    clock.pass(300);
    clock.pass(1000);
    await playing.done;
    expect(sent).toEqual([0, 1700, 2000, 3000]);
  });

  it('sends nothing more once it is stopped', async () => {
    const clock = manualWaits();
    const sent: number[] = [];
    const playing = playRows([row(0), row(1)], 1, clock, (r) => sent.push(r.atMs));
    playing.stop();
    await playing.done;
    clock.pass(5000);
    expect(sent).toEqual([1_000_000]);
  });

  it('refuses a pace of nothing', () => {
    expect(() => playRows([], 0, manualWaits(), () => {})).toThrow('it should be a number above 0');
  });

  it.each([
    ['time;sensor;celsius\n', 'line 1: the columns are "time;sensor;celsius"; they should be'],
    ['time,sensor,celsius\nnoon,shelf,20\n', 'line 2: "noon" is no time'],
    ['time,sensor,celsius\n2025-05-12T09:00:00Z,,20\n', 'line 2: the sensor has no name'],
    ['time,sensor,celsius\n2025-05-12T09:00:00Z,shelf,warm\n', 'line 2: "warm" is no temperature'],
    [
      'time,sensor,celsius,lid\n2025-05-12T09:00:00Z,shelf,20,ajar\n',
      'line 2: the lid is "ajar"; write open or closed.',
    ],
  ])('says which line of a file is wrong: %j', (text, sentence) => {
    expect(() => readingsOfCsv(text)).toThrow(sentence);
  });
});
