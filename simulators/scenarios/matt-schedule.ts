/** The plan of the gas scenarios: matt on 3 mm pieces at 660 °C. Figures: common practice, no source. */
import type { Schedule } from '../../daemon/core/plan/schedule.ts';

export function mattSchedule(options: { topC?: number; holdMinutes?: number; callAtC?: number } = {}): Schedule {
  const topC = options.topC ?? 660;
  return {
    name: 'Matt, 3 mm pieces',
    plateMm: 3,
    toleranceC: 6,
    safeOpenC: 150,
    segments: [
      {
        kind: 'ramp',
        toC: 450,
        rateCPerH: 240,
        opening: 'propped',
        acts: [{ when: 'end', do: 'close the door', callMinutes: 3 }],
      },
      { kind: 'ramp', toC: 560, rateCPerH: 180 },
      {
        kind: 'ramp',
        toC: topC,
        rateCPerH: 120,
        acts: [{ when: { atC: options.callAtC ?? topC - 12 }, do: 'turn the gas down', callMinutes: 6 }],
      },
      {
        kind: 'hold',
        minutes: options.holdMinutes ?? 15,
        acts: [{ when: 'end', do: 'gas off, damper after', callMinutes: 3 }],
      },
      { kind: 'ramp', toC: 150, rateCPerH: 'let-fall', acts: [{ when: 'end', do: 'crack the door', callMinutes: 5 }] },
      { kind: 'ramp', toC: 50, rateCPerH: 'let-fall', opening: 'free' },
    ],
    source: 'common practice, no source',
  };
}
