import { describe, expect, it } from 'vitest';
import { standing } from '../../../daemon/core/alerts/alert.ts';
import type { Finding } from '../../../daemon/core/alerts/rule.ts';
import { seededRandom } from '../../../daemon/core/numbers/seeded-random.ts';
import { found, Story } from './story.ts';

describe('the life of an alert', () => {
  it('calls once its finding has stood for its delay, and not for a shorter one', () => {
    expect(new Story().finds(found('foreseen'), 9).finds(undefined, 60).told()).toEqual([]);
    expect(new Story().finds(found('foreseen'), 60).told()).toEqual(['11 foreseen calling']);
  });

  it('keeps its id from foreseen to happening to over, and calls again when it gets worse', () => {
    const story = new Story().finds(found('foreseen'), 60).sees().finds(found('happening'), 60).finds(undefined, 60);
    expect(story.told()).toEqual([
      '11 foreseen calling',
      '60 foreseen seen',
      '61 happening calling',
      '141 over over-unseen',
    ]);
    expect(new Set(story.said.map((e) => e.id)).size).toBe(1);
    // Seen was the milder step, not this one.
    expect(story.said.find((e) => e.phase === 'happening')?.seenBy).toBeUndefined();
  });

  it('is not talked back to merely foreseen once it happens', () => {
    const story = new Story().finds(found('happening'), 30).finds(found('foreseen'), 600);
    expect(standing(story.alerts)).toMatchObject([{ phase: 'happening' }]);
  });

  it('does not flap: gone for less than its delay it was never away', () => {
    const story = new Story();
    for (let i = 0; i < 20; i++) story.finds(found('foreseen'), 15).finds(undefined, 15);
    expect(story.told()).toEqual(['11 foreseen calling']);
  });

  it('that is over stays on the page until somebody has seen it', () => {
    const story = new Story().finds(found('happening'), 60).finds(undefined, 3600);
    expect(standing(story.alerts)).toMatchObject([{ phase: 'over', life: 'over-unseen' }]);
    story.sees();
    expect(story.last()).toMatchObject({ phase: 'over', life: 'gone', seenBy: 'painter' });
    expect(standing(story.alerts)).toEqual([]);
  });

  it('that was seen leaves by itself when it is over', () => {
    const story = new Story().finds(found('happening'), 60).sees().finds(undefined, 60);
    expect(story.last()).toMatchObject({ phase: 'over', life: 'gone' });
    expect(standing(story.alerts)).toEqual([]);
  });

  it('seen and still true calls again after ten minutes, twenty where it is less urgent (requirement A5)', () => {
    expect(new Story().finds(found('happening'), 60).sees().finds(found('happening'), 900).told().at(-1)).toBe(
      '660 happening calling',
    );
    expect(
      new Story().finds(found('happening', 'soon'), 60).sees().finds(found('happening', 'soon'), 1500).told().at(-1),
    ).toBe('1260 happening calling');
    expect(
      new Story().finds(found('happening', 'note'), 60).sees().finds(found('happening', 'note'), 9000).told(),
    ).toHaveLength(2);
  });

  it('put aside comes back when its time is up, at most half an hour later (requirement A6)', () => {
    expect(new Story().finds(found('happening'), 60).putsAside(10).finds(found('happening'), 900).told().at(-1)).toBe(
      '660 happening calling',
    );
    expect(new Story().finds(found('happening'), 60).putsAside(600).finds(found('happening'), 4000).told().at(-1)).toBe(
      '1860 happening calling',
    );
  });

  it('put aside comes back with the next segment of the plan', () => {
    const story = new Story().finds(found('happening'), 60).putsAside(30).finds(found('happening'), 300);
    story.segment = 1;
    expect(story.finds(found('happening'), 5).told().at(-1)).toBe('361 happening calling');
  });

  it('put aside and then over is gone: somebody had it in hand', () => {
    const story = new Story().finds(found('happening'), 60).putsAside(10).finds(undefined, 60);
    expect(story.last()).toMatchObject({ phase: 'over', life: 'gone', seenBy: 'painter' });
  });

  it('put aside is back on time though nobody can judge it, and calls once it is found again', () => {
    const story = new Story().finds(found('happening'), 60).putsAside(10).finds('unknown', 900);
    expect(story.of('overshoot')).toMatchObject({ life: 'calling', unknown: true });
    expect(story.calls()).toHaveLength(1);
  });

  it('put aside does not hide a worse step', () => {
    const story = new Story().finds(found('foreseen'), 60).putsAside(30).finds(found('happening'), 5);
    expect(story.told().at(-1)).toBe('61 happening calling');
    const urgent = new Story().finds(found('happening', 'soon'), 60).putsAside(30).finds(found('happening', 'now'), 5);
    expect(urgent.told().at(-1)).toBe('61 happening calling');
  });

  it('whose readings are missing is neither over nor forgotten (requirement A8)', () => {
    const story = new Story().finds(found('happening'), 60).finds('unknown', 7200);
    expect(story.told()).toEqual(['11 happening calling']);
    expect(standing(story.alerts)).toMatchObject([{ phase: 'happening', unknown: true }]);
    story.finds(found('happening'), 5);
    expect(standing(story.alerts)[0]?.unknown).toBeUndefined();
  });

  it('is not over for one harmless reading between two silences', () => {
    const story = new Story()
      .finds(found('happening'), 60)
      .finds('unknown', 60)
      .finds(undefined, 1)
      .finds('unknown', 600);
    story.finds(undefined, 2);
    expect(story.told()).toEqual(['11 happening calling']);
  });

  it('that somebody put aside and whose readings are missing is still back on time', () => {
    const story = new Story()
      .finds(found('happening'), 60)
      .putsAside(10)
      .finds('unknown', 300)
      .finds(found('happening'), 600);
    expect(story.told().at(-1)).toBe('660 happening calling');
  });

  it('neither begins nor ends while it is too early to say', () => {
    expect(new Story().finds('unsure', 600).told()).toEqual([]);
    const story = new Story().finds(found('foreseen'), 60).finds('unsure', 3600);
    expect(standing(story.alerts)).toMatchObject([{ phase: 'foreseen' }]);
  });

  it('brings its words up to date once a minute without calling', () => {
    const story = new Story();
    for (let s = 0; s < 300; s++) story.finds(found('happening', 'now', { message: `Too hot: ${600 + s}.` }), 1);
    expect(story.told()).toHaveLength(1);
    expect(story.said.filter((e) => e.refresh === true)).toHaveLength(4);
  });

  it('answers to nobody who names another alert', () => {
    const story = new Story().finds(found('happening'), 60);
    const before = story.alerts;
    story.sees('another').putsAside(10, 'another').resets('another').resets();
    expect(story.alerts).toBe(before);
    expect(story.told()).toHaveLength(1);
  });

  it('waits no longer than half of the time that is left, and as long as its finding wants', () => {
    const calledAtS = (finding: Finding): number => new Story().finds(finding, 60).last().atMs / 1000;
    expect(calledAtS(found('foreseen', 'now', { leadS: 40, onDelayS: 30 }))).toBe(21);
    expect(calledAtS(found('foreseen', 'now', { leadS: 8, onDelayS: 30 }))).toBe(11);
    expect(calledAtS(found('foreseen', 'now', { leadS: 600, onDelayS: 30 }))).toBe(31);
    expect(calledAtS(found('happening', 'now', { leadS: 0 }))).toBe(11);
    expect(calledAtS(found('happening', 'now', { onDelayS: 0 }))).toBe(1);
  });

  it('that comes back soon after it was over has come to stay: it is over only after a minute', () => {
    const story = new Story({ onDelayS: 0, offDelayS: 3 });
    for (let i = 0; i < 60; i++) story.finds(found('happening'), 5).finds(undefined, 5);
    expect(story.calls()).toHaveLength(2);
    story.finds(undefined, 400).finds(found('happening'), 5).finds(undefined, 5);
    expect(story.of('overshoot')).toMatchObject({ phase: 'over' });
  });

  it('of a kiln that is slow to show it has not been away when it comes back within half an hour', () => {
    const story = new Story({ onDelayS: 0, offDelayS: 60, isSlow: true });
    for (let i = 0; i < 20; i++) story.finds(found('happening'), 120).finds(undefined, 400);
    expect(story.calls()).toHaveLength(2);
    story.finds(undefined, 900);
    expect(story.of('overshoot')).toMatchObject({ phase: 'over' });
  });

  it.each([0.1, 0.3, 0.5, 0.7, 0.9])(
    'calls twice at most while its finding comes and goes by chance, there %d of the time (seed 31)',
    (share) => {
      const random = seededRandom(31);
      for (const [onDelayS, offDelayS] of [
        [0, 3],
        [2, 15],
        [10, 45],
        [60, 120],
      ] as const) {
        const story = new Story({ onDelayS, offDelayS });
        for (let s = 0; s < 3600; s++) story.finds(random.next() < share ? found('happening') : undefined, 1);
        const ons = story.said.filter((e) => e.refresh !== true && (e.phase === 'over' || e.life === 'calling'));
        for (const e of ons) {
          const inMinute = ons.filter((o) => o.atMs >= e.atMs && o.atMs < e.atMs + 60_000 && o.phase === 'over');
          expect(inMinute.length).toBeLessThan(3);
        }
      }
    },
  );

  it('says within a minute that its cause is another; who has seen it is not called for that', () => {
    const causes = (story: Story): Story =>
      story.finds(found('happening', 'soon', { cause: 'slipped' }), 90).finds(undefined, 60);
    const story = causes(new Story().finds(found('happening', 'soon', { cause: 'jump' }), 30));
    expect(story.calls()).toEqual(['11 overshoot happening', '71 overshoot happening']);
    const seen = causes(new Story().finds(found('happening', 'soon', { cause: 'jump' }), 30).sees());
    expect(seen.told()).toEqual(['11 happening calling', '30 happening seen', '90 happening seen', '141 over gone']);
    expect(seen.last()).toMatchObject({ cause: 'slipped' });
  });

  it('has one life for each sensor where its rule tells them apart', () => {
    const story = new Story()
      .finds([found('happening', 'soon', { sensor: 'top' }), found('happening', 'now', { sensor: 'shelf' })], 30)
      .finds([found('happening', 'now', { sensor: 'shelf' }), { doubt: 'unsure', sensor: 'base' }], 60);
    expect(story.said.map((e) => `${e.id} ${e.sensor} ${e.phase}`)).toEqual([
      'a1 top happening',
      'a2 shelf happening',
      'a1 top over',
    ]);
    story.finds([{ doubt: 'unknown', sensor: 'shelf' }], 60);
    expect(story.of('overshoot')).toMatchObject({ sensor: 'shelf', unknown: true });
    story.finds('unknown', 60).finds(undefined, 60);
    expect(story.of('overshoot')).toMatchObject({ sensor: 'shelf', phase: 'over' });
  });
});
