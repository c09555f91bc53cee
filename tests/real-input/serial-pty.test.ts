/** A real furnace's run through a real terminal: what the daemon makes of it is what `replay` makes of the file. */
import { beforeAll, describe, expect, test } from 'vitest';
import { serialDevice } from '../../simulators/serial-device.ts';
import { needs } from '../support/debian.ts';
import { expectAgreement, expectSameCurve, expectSamePage, expectWholeRecord } from '../support/expect-agreement.ts';
import { type PlayedRun, playRealRun } from '../support/real-run.ts';
import { terminalPair } from '../support/terminal-pair.ts';

/** 2250 s in 63. */
const PACE = 36;

describe.runIf(needs('socat', 'chromium'))('a furnace heated to 650 °C, over a terminal', () => {
  let run: PlayedRun;

  beforeAll(async () => {
    run = await playRealRun({
      set: 'tga-sample-vs-reference-650',
      pace: PACE,
      schedule: {
        name: 'Ramp to 650 and hold',
        toleranceC: 5,
        segments: [
          { kind: 'ramp', toC: 650, rateCPerH: 1800 },
          { kind: 'hold', minutes: 15 },
        ],
      },
      kiln: {
        id: 'furnace',
        name: 'Furnace',
        heat: 'electric',
        closure: 'door',
        // One reading a second; named slower, since at this pace the usual 15 s until silence are half a real second.
        sampleS: 20,
        sensors: [{ name: 'sample', letter: 'K' }],
      },
      async wire(dir) {
        const pair = await terminalPair(dir);
        const device = serialDevice(`${pair.port}-far-end`, ['sample']);
        return {
          input: { kind: 'serial', port: pair.port },
          connected: /Listening to .* at 9600 baud/,
          // The first line after opening is thrown away: it may be the end of a longer one.
          begin: async () => void device.writeRaw('36.6\r\n'),
          send: (rows) => {
            if (!device.write(rows)) throw new Error('the terminal was full and a line was lost');
          },
          close: async () => {
            device.close();
            await pair.unplug();
          },
        };
      },
    });
  }, 150_000);

  test('the alerts are those of replay, in the same order and phases, each within a sample and a tick', () => {
    expectAgreement(run);
    // In its hold it shot up again by nineteen degrees a minute: heat that stays on is what carries it over.
    expect(run.stages.map((s) => s.alert)).toContain('uncontrolled-heat');
  });

  test('every row stands in the record, the seals hold, and the record lived again tells the same', () => {
    expectWholeRecord(run);
  });

  test("the curve is the file's, with the same peak", () => {
    expectSameCurve(run);
  });

  test('the page tells the same alerts and the same curve in words', () => {
    expectSamePage(run);
  });
});
