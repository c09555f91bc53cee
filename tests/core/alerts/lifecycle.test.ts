import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type Alerts,
  carryAlert,
  NO_ALERTS,
  putAside,
  seeAlert,
  standing,
} from '../../../daemon/core/alerts/lifecycle.ts';
import type { Finding, Rule, Saying } from '../../../daemon/core/alerts/rule.ts';
import type { AlertEvent, AlertLife, Phase, Priority } from '../../../daemon/core/events.ts';

const ON_S = 10;
const OFF_S = 20;
const CALLS_AGAIN_S: Record<Priority, number> = { now: 600, soon: 1200, note: Number.POSITIVE_INFINITY };
const RANK: Record<Priority, number> = { note: 0, soon: 1, now: 2 };

const rule: Rule = {
  alert: 'overshoot',
  onDelayS: ON_S,
  offDelayS: OFF_S,
  cause: '',
  consequence: '',
  whatToDo: { gas: '', electric: '' },
  timeToAct: '',
  priority: 'now',
  afterwards: () => 'It was.',
  judge: () => undefined,
};
const found = (phase: Finding['phase'], priority: Priority = 'now', message = 'Turn down.'): Finding => ({
  phase,
  priority,
  message,
  because: '',
});

/** Alerts, a clock, and what was said: so that a test reads as a story. */
class Story {
  alerts: Alerts = NO_ALERTS;
  nowS = 0;
  readonly said: AlertEvent[] = [];
  finds(opinion: Saying, forS: number): this {
    for (let s = 0; s < forS; s++) this.take(carryAlert(this.alerts, rule, opinion, ++this.nowS * 1000));
    return this;
  }
  sees(by = 'painter'): this {
    return this.take(seeAlert(this.alerts, this.last().id, by, this.nowS * 1000));
  }
  putsAside(minutes: number): this {
    return this.take(putAside(this.alerts, this.last().id, 'painter', minutes, this.nowS * 1000));
  }
  last(): AlertEvent {
    const last = this.said[this.said.length - 1];
    if (last === undefined) throw new Error('nothing was said');
    return last;
  }
  told(): string[] {
    return this.said.filter((e) => e.refresh !== true).map((e) => `${e.atMs / 1000} ${e.phase} ${e.life}`);
  }
  private take(step: { alerts: Alerts; events: readonly AlertEvent[] }): this {
    this.alerts = step.alerts;
    this.said.push(...step.events);
    return this;
  }
}

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
    for (let s = 0; s < 300; s++) story.finds(found('happening', 'now', `Too hot: ${600 + s}.`), 1);
    expect(story.told()).toHaveLength(1);
    expect(story.said.filter((e) => e.refresh === true)).toHaveLength(4);
  });

  it('answers to nobody who names another alert', () => {
    const story = new Story().finds(found('happening'), 60);
    expect(seeAlert(story.alerts, 'another', 'painter', 0)).toEqual({ alerts: story.alerts, events: [] });
    expect(putAside(story.alerts, 'another', 'painter', 10, 0)).toEqual({ alerts: story.alerts, events: [] });
  });
});

/** What a person would expect, kept as simple as can be: one present alert, and those that are over but unseen. */
interface Present {
  readonly id: string;
  phase: Phase;
  priority: Priority;
  life: AlertLife;
  seenAtS: number;
  asideUntilS: number;
  awaySinceS: number | null;
}

class Model {
  nowS = 0;
  formingSinceS: number | null = null;
  present: Present | null = null;
  readonly unseen = new Set<string>();
  ids = 0;

  finds(finding: Finding): void {
    this.formingSinceS ??= this.nowS;
    const present = this.present;
    if (present === null) {
      if (this.nowS - this.formingSinceS < ON_S) return;
      this.present = {
        id: `a${++this.ids}`,
        phase: finding.phase,
        priority: finding.priority,
        life: 'calling',
        seenAtS: 0,
        asideUntilS: 0,
        awaySinceS: null,
      };
      return;
    }
    present.awaySinceS = null;
    const isWorse =
      (present.phase === 'foreseen' && finding.phase === 'happening') ||
      RANK[finding.priority] > RANK[present.priority];
    const isDue =
      (present.life === 'seen' && this.nowS - present.seenAtS >= CALLS_AGAIN_S[present.priority]) ||
      (present.life === 'put-aside' && this.nowS >= present.asideUntilS);
    if (isWorse || isDue) present.life = 'calling';
    if (finding.phase === 'happening') present.phase = 'happening';
    if (RANK[finding.priority] > RANK[present.priority]) present.priority = finding.priority;
  }

  isGone(): void {
    this.formingSinceS = null;
    if (this.present === null) return;
    this.present.awaySinceS ??= this.nowS;
    if (this.nowS - this.present.awaySinceS < OFF_S) return;
    if (this.present.life !== 'seen') this.unseen.add(this.present.id);
    this.present = null;
  }

  isUnknown(): void {
    if (this.present === null) this.formingSinceS = null;
    else this.present.awaySinceS = null;
  }
}

type Move =
  | { readonly do: 'find'; readonly opinion: Saying; readonly forS: number }
  | { readonly do: 'see'; readonly which: number }
  | { readonly do: 'aside'; readonly minutes: number };

const durations = fc.oneof(fc.integer({ min: 1, max: 40 }), fc.constantFrom(1, 2, 300, 700, 2000));
const opinions: fc.Arbitrary<Saying> = fc.oneof(
  fc
    .record({ phase: fc.constantFrom('foreseen', 'happening'), priority: fc.constantFrom('note', 'soon', 'now') })
    .map(({ phase, priority }) => found(phase, priority)),
  fc.constantFrom(undefined, 'unknown', 'unsure'),
);
const moves: fc.Arbitrary<Move> = fc.oneof(
  { weight: 5, arbitrary: fc.record({ do: fc.constant('find'), opinion: opinions, forS: durations }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant('see'), which: fc.nat(3) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('aside'), minutes: fc.integer({ min: 1, max: 600 }) }) },
);

describe('whatever happens to it (10 000 lives, seed 2718)', () => {
  it('goes as a person would expect: no unseen alert is lost, a worse step calls, put aside is timed', () => {
    fc.assert(
      fc.property(fc.array(moves, { maxLength: 20 }), (life) => {
        const model = new Model();
        let alerts: Alerts = NO_ALERTS;
        const check = (events: readonly AlertEvent[], opinion?: Saying): void => {
          const stands = standing(alerts);
          const over = stands.filter((a) => a.phase === 'over').map((a) => a.id);
          expect(new Set(over)).toEqual(model.unseen);
          const present = stands.filter((a) => a.phase !== 'over');
          expect(present.map(({ id, phase, priority, life: lives }) => ({ id, phase, priority, life: lives }))).toEqual(
            model.present === null
              ? []
              : [
                  {
                    id: model.present.id,
                    phase: model.present.phase,
                    priority: model.present.priority,
                    life: model.present.life,
                  },
                ],
          );
          if (opinion === 'unknown' || opinion === 'unsure') {
            expect(events.filter((e) => e.phase === 'over' || e.refresh !== true)).toEqual([]);
          }
          for (const a of stands)
            if (a.life === 'put-aside')
              expect((a.putAsideUntilMs ?? Infinity) - model.nowS * 1000).toBeLessThanOrEqual(1_800_000);
        };
        for (const move of life) {
          if (move.do === 'find') {
            // Time passes in strides that meet each edge: the first second, then the rest at once.
            for (const strideS of move.forS > 1 ? [1, move.forS - 1] : [1]) {
              model.nowS += strideS;
              const step = carryAlert(alerts, rule, move.opinion, model.nowS * 1000);
              alerts = step.alerts;
              if (move.opinion === undefined) model.isGone();
              else if (move.opinion === 'unknown') model.isUnknown();
              else if (move.opinion !== 'unsure') model.finds(move.opinion);
              check(step.events, move.opinion);
            }
            continue;
          }
          if (move.do === 'see') {
            const ids = standing(alerts).map((a) => a.id);
            const id = ids[move.which % Math.max(ids.length, 1)] ?? 'none';
            const step = seeAlert(alerts, id, 'painter', model.nowS * 1000);
            alerts = step.alerts;
            model.unseen.delete(id);
            if (model.present?.id === id && model.present.life !== 'seen') {
              model.present.life = 'seen';
              model.present.seenAtS = model.nowS;
            }
            check(step.events);
            continue;
          }
          const step = putAside(alerts, model.present?.id ?? 'none', 'painter', move.minutes, model.nowS * 1000);
          alerts = step.alerts;
          if (model.present !== null) {
            model.present.life = 'put-aside';
            model.present.asideUntilS = model.nowS + Math.min(move.minutes, 30) * 60;
          }
          check(step.events);
        }
      }),
      { seed: 2718, numRuns: 10_000 },
    );
  });
});
