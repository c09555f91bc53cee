import { describe, expect, it } from 'vitest';
import { alertStatistics } from '../../../daemon/core/report/alert-statistics.ts';
import { found, Story } from '../alerts/story.ts';

const HOUR_MS = 3_600_000;

describe('the alerts of a firing in figures (requirement A15)', () => {
  it('are nought in a quiet firing', () => {
    expect(alertStatistics([], 0, 8 * HOUR_MS)).toEqual({
      alertCount: 0,
      avertedCount: 0,
      byPriority: { now: 0, soon: 0, note: 0 },
      callCount: 0,
      callsPerH: 0,
      peakCount: 0,
      chattering: [],
      medianSeenAfterS: null,
      longestSeenAfterS: null,
      unseenCount: 0,
      causes: [],
    });
  });

  it('count alerts, calls and calls again apart, and the time until somebody has seen them', () => {
    const story = new Story();
    // Foreseen at 11 s, seen at 60 s, averted.
    story.finds(found('foreseen'), 60).sees().finds(undefined, 60);
    // Happens at 131 s, seen at 320 s, calls again ten minutes later, nobody comes.
    story.finds(found('happening'), 200).sees().finds(found('happening'), 700).finds(undefined, 60);
    story.says('stalled-ramp', found('happening', 'soon')).passes(60);
    expect(alertStatistics(story.said, 0, 2 * HOUR_MS)).toEqual({
      alertCount: 3,
      avertedCount: 1,
      byPriority: { now: 2, soon: 1, note: 0 },
      callCount: 4,
      callsPerH: 2,
      peakCount: 2,
      chattering: [],
      medianSeenAfterS: 49,
      longestSeenAfterS: 189,
      unseenCount: 1,
      causes: [
        { alert: 'overshoot', callCount: 3 },
        { alert: 'stalled-ramp', callCount: 1 },
      ],
    });
  });

  it('count no call for what is listed under another alert, nor for words brought up to date', () => {
    const story = new Story().finds(found('happening'), 30);
    story.says('sensor-fault', found('happening', 'now', { explains: ['overshoot'] })).finds('unknown', 120);
    expect(story.said.some((e) => e.refresh === true)).toBe(true);
    expect(alertStatistics(story.said, 0, HOUR_MS)).toMatchObject({ alertCount: 2, callCount: 2, peakCount: 2 });
  });

  it('name what chatters: three times on and off within a minute, of the same sensor', () => {
    const [told] = new Story().finds(found('happening'), 30).said;
    if (told === undefined) throw new Error('nothing was told');
    const onAndOff = (n: number, atS: number, sensor: string) => [
      { ...told, id: `a${n}`, sensor, atMs: atS * 1000 },
      { ...told, id: `a${n}`, sensor, atMs: (atS + 5) * 1000, phase: 'over' as const, life: 'over-unseen' as const },
    ];
    const two = [...onAndOff(1, 0, 'top'), ...onAndOff(2, 20, 'top'), ...onAndOff(3, 40, 'shelf')];
    expect(alertStatistics(two, 0, HOUR_MS).chattering).toEqual([]);
    expect(alertStatistics([...two, ...onAndOff(4, 59, 'top')], 0, HOUR_MS).chattering).toEqual(['overshoot']);
    expect(alertStatistics([...two, ...onAndOff(4, 61, 'top')], 0, HOUR_MS).chattering).toEqual([]);
  });

  it('find the busiest ten minutes wherever they lie', () => {
    const [told] = new Story().finds(found('happening'), 30).said;
    if (told === undefined) throw new Error('nothing was told');
    const at = [0, 500, 900, 1000, 1100, 1499, 1500, 3000];
    const events = at.map((s, i) => ({ ...told, id: `a${i}`, atMs: s * 1000 }));
    expect(alertStatistics(events, 0, HOUR_MS).peakCount).toBe(4);
  });
});
