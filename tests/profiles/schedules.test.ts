import { describe, expect, it } from 'vitest';
import { askAbout } from '../../daemon/config/schedule-questions.ts';
import { readShelf, shippedSchedulesDir } from '../../daemon/config/shelf.ts';
import { peakC, targetC } from '../../daemon/core/plan/schedule.ts';

const { schedules, troubles } = readShelf([shippedSchedulesDir()]);

describe('the schedules that come along', () => {
  it('are all sound, and are those a glass painter needs', () => {
    expect(troubles).toEqual([]);
    expect(schedules.map((s) => [s.key, peakC(s.schedule)])).toEqual([
      ['anneal-thick-piece', 540],
      ['drying', 50],
      ['enamel', 590],
      ['pink-enamel', 660],
      ['silver-stain', 545],
      ['trace-and-matt', 660],
    ]);
  });

  describe.each(schedules)('$key', ({ schedule }) => {
    it('says where its figures come from', () => {
      expect(schedule.source).toMatch(/common practice, no source|from memory/);
    });

    it('leaves nothing to ask', () => {
      expect(askAbout(schedule)).toEqual([]);
    });

    it('holds its peak, and no other temperature before the fall', () => {
      const holds = schedule.segments.flatMap((s, i) => (s.kind === 'hold' ? [targetC(schedule, i)] : []));
      expect(holds).toEqual([peakC(schedule)]);
    });

    it('ends with the heat off, gas first and the damper after, and lets it fall until it may be opened', () => {
      const acts = schedule.segments.flatMap((s) => s.acts ?? []).map((act) => act.do);
      const off = acts.filter((act) => act.includes('heat off'));
      expect(off).toHaveLength(1);
      expect(off[0]).toContain('gas first, damper after');
      expect(acts.filter((act) => /damper/.test(act))).toEqual(off);
      expect(schedule.segments.at(-1)).toMatchObject({ kind: 'ramp', rateCPerH: 'let-fall', opening: 'free' });
      expect(targetC(schedule, schedule.segments.length - 2)).toBeLessThanOrEqual(schedule.safeOpenC ?? 0);
    });
  });
});
