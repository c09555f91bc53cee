/** Twelve hours of one simulated electric kiln, one reading a second: 43,200 readings, the plan not yet over. */
import type { RawMessage } from '../../daemon/core/inputs.ts';
import type { KilnSetup } from '../../daemon/core/plan/kiln.ts';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import type { Built } from './built.ts';
import { KILN_ID, kilnEntry, SENSOR, TOPIC } from './spawned-watch.ts';

export const LONG_FIRING_S = 12 * 3600;

export interface LongFiring {
  readonly startedAtMs: number;
  readonly kiln: KilnSetup;
  readonly schedule: Schedule;
  /** What the instrument says, as the watch hears it over MQTT. */
  readonly messages: readonly RawMessage[];
}

/** A thick piece, slowly up and slowly down, so that twelve hours end within the anneal; common practice, no source. */
const schedule: Schedule = {
  name: 'Thick piece, slow',
  toleranceC: 6,
  safeOpenC: 150,
  waits: true,
  segments: [
    {
      kind: 'ramp',
      toC: 450,
      rateCPerH: 90,
      opening: 'propped',
      acts: [{ when: 'end', do: 'close the lid', callMinutes: 3 }],
    },
    { kind: 'ramp', toC: 590, rateCPerH: 90 },
    { kind: 'hold', minutes: 15 },
    { kind: 'ramp', toC: 530, rateCPerH: 60 },
    { kind: 'hold', minutes: 60 },
    { kind: 'ramp', toC: 400, rateCPerH: 30 },
    { kind: 'ramp', toC: 150, rateCPerH: 'let-fall', acts: [{ when: 'end', do: 'crack the lid', callMinutes: 5 }] },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall', opening: 'free' },
  ],
};

/** @param endsAtMs when the last reading came */
export function longFiring(built: Built, endsAtMs: number, brokerUrl = 'mqtt://127.0.0.1:1883'): LongFiring {
  const startedAtMs = endsAtMs - LONG_FIRING_S * 1000;
  const described = built.kilnFile.parseKiln(kilnEntry({ brokerUrl }), KILN_ID, { withInput: true }).kiln;
  const kiln: KilnSetup = { ...described, utcOffsetMinutes: -new Date(endsAtMs).getTimezoneOffset() };
  const firing = built.scenario.liveFiring({
    name: 'twelve hours',
    seed: 71,
    startedAtMs,
    kiln,
    schedule,
    plant: { heat: 'electric', spec: built.electricKiln.studioElectricKiln },
    operator: built.operator.carefulOperator,
    couples: [
      {
        sensor: SENSOR,
        looksAt: { wall: 0.3, shelf: 0.3, glass: 0.4 },
        lagS: 90,
        noiseC: 0.2,
        stepC: 0.25,
        missedRatio: 0,
      },
    ],
    instrument: { sampleS: 1 },
    lidSwitch: false,
    glassHabitC: 0,
    happenings: [],
    endsAfterS: LONG_FIRING_S,
  });
  const { rows } = firing.step(endsAtMs);
  const messages = rows.map(
    ({ atMs, celsius }): RawMessage => ({
      kind: 'raw',
      atMs,
      input: 'mqtt-1',
      channel: TOPIC,
      text: celsius === null ? '' : String(celsius),
    }),
  );
  return { startedAtMs, kiln, schedule, messages };
}
