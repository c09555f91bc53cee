/** Two real heaters through a real Mosquitto: what the daemon makes of it is what `replay` makes of the file. */
import { beforeAll, describe, expect, test } from 'vitest';
import { mqttDevice } from '../../simulators/mqtt-device.ts';
import { needs } from '../support/debian.ts';
import { expectAgreement, expectSameCurve, expectSamePage, expectWholeRecord } from '../support/expect-agreement.ts';
import { mosquitto } from '../support/mosquitto.ts';
import { type PlayedRun, playRealRun } from '../support/real-run.ts';

/** 599 s in 60. */
const PACE = 10;

describe.runIf(needs('mosquitto', 'chromium'))('two heaters with a sensor each, over MQTT', () => {
  let run: PlayedRun;

  beforeAll(async () => {
    run = await playRealRun({
      set: 'tclab-two-heaters',
      pace: PACE,
      schedule: {
        name: 'Ramp to 48 and hold',
        toleranceC: 3,
        segments: [
          { kind: 'ramp', toC: 48, rateCPerH: 600 },
          { kind: 'hold', minutes: 4 },
        ],
      },
      kiln: {
        id: 'heaters',
        name: 'Heaters',
        heat: 'electric',
        closure: 'lid',
        // One reading a second; named slower, since at this pace the usual 15 s until silence are 1.5 real seconds.
        sampleS: 10,
        sensors: [
          { name: 'T1', letter: 'K' },
          { name: 'T2', letter: 'K' },
        ],
      },
      async wire() {
        const broker = await mosquitto();
        const board = await mqttDevice({ url: broker.url, topicPrefix: 'bench/heaters' });
        const refused: unknown[] = [];
        return {
          input: { kind: 'mqtt', url: broker.url, topics: { T1: 'bench/heaters/T1', T2: 'bench/heaters/T2' } },
          connected: /Listening to bench\/heaters\/T1/,
          send(rows) {
            if (refused.length > 0) throw refused[0];
            for (const row of rows) board.reading(row).catch((error: unknown) => refused.push(error));
          },
          async close() {
            await board.stop();
            await broker.stop();
          },
        };
      },
    });
  }, 150_000);

  test('the alerts are those of replay, in the same order and phases, each within a sample and a tick', () => {
    expectAgreement(run);
    expect(run.stages.map((s) => `${s.alert} ${s.phase}`)).toEqual(
      expect.arrayContaining(['overshoot happening', 'overshoot over']),
    );
  });

  test('every row of both sensors stands in the record, and the record lived again tells the same', () => {
    expectWholeRecord(run);
  });

  test("both curves are the file's, with the same peaks", () => {
    expectSameCurve(run);
  });

  test('the page tells the same alerts and the same curves in words', () => {
    expectSamePage(run);
  });
});
