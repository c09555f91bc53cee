/** One alert through whatever befalls it, beside what a person would expect, kept as simple as can be. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { standing } from '../../../daemon/core/alerts/alert.ts';
import type { Finding, Saying } from '../../../daemon/core/alerts/rule.ts';
import type { AlertLife, Phase, Priority } from '../../../daemon/core/events.ts';
import { found, OFF_S, ON_S, Story } from './story.ts';

const CALLS_AGAIN_S: Record<Priority, number> = { now: 600, soon: 1200, note: Number.POSITIVE_INFINITY };
const RANK: Record<Priority, number> = { note: 0, soon: 1, now: 2 };

interface Present {
  readonly id: string;
  phase: Phase;
  priority: Priority;
  life: AlertLife;
  seenAtS: number;
  asideUntilS: number;
  awaySinceS: number | null;
  readonly offS: number;
}

/** One present alert, and those that are over but unseen. */
class Model {
  nowS = 0;
  formingSinceS: number | null = null;
  present: Present | null = null;
  readonly unseen = new Set<string>();
  ids = 0;
  overAtS = Number.NEGATIVE_INFINITY;

  hears(saying: Saying): void {
    if (saying === undefined) this.isGone();
    else if (saying === 'unknown') this.isUnknown();
    else if (saying === 'unsure') this.formingSinceS = null;
    else this.finds(saying);
    const { present } = this;
    if (present?.life === 'put-aside' && present.awaySinceS === null && this.nowS >= present.asideUntilS) {
      present.life = 'calling';
    }
  }

  private finds(finding: Finding): void {
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
        offS: this.nowS - this.overAtS < 300 ? 60 : OFF_S,
      };
      return;
    }
    present.awaySinceS = null;
    const isWorse =
      (present.phase === 'foreseen' && finding.phase === 'happening') ||
      RANK[finding.priority] > RANK[present.priority];
    const isDue = present.life === 'seen' && this.nowS - present.seenAtS >= CALLS_AGAIN_S[present.priority];
    if (isWorse || isDue) present.life = 'calling';
    if (finding.phase === 'happening') present.phase = 'happening';
    if (RANK[finding.priority] > RANK[present.priority]) present.priority = finding.priority;
  }

  private isGone(): void {
    this.formingSinceS = null;
    const { present } = this;
    if (present === null) return;
    present.awaySinceS ??= this.nowS;
    if (this.nowS - present.awaySinceS < present.offS) return;
    if (present.life === 'calling') this.unseen.add(present.id);
    this.overAtS = this.nowS;
    this.present = null;
  }

  private isUnknown(): void {
    if (this.present === null) this.formingSinceS = null;
    else this.present.awaySinceS = null;
  }

  sees(id: string): void {
    this.unseen.delete(id);
    if (this.present?.id !== id || this.present.life === 'seen') return;
    this.present.life = 'seen';
    this.present.seenAtS = this.nowS;
  }

  putsAside(minutes: number): void {
    if (this.present === null) return;
    this.present.life = 'put-aside';
    this.present.asideUntilS = this.nowS + Math.min(minutes, 30) * 60;
  }
}

type Move =
  | { readonly do: 'find'; readonly saying: Saying; readonly forS: number }
  | { readonly do: 'see'; readonly which: number }
  | { readonly do: 'aside'; readonly minutes: number }
  | { readonly do: 'restart' };

const durations = fc.oneof(fc.integer({ min: 1, max: 40 }), fc.constantFrom(1, 2, 300, 700, 2000));
const sayings: fc.Arbitrary<Saying> = fc.oneof(
  fc
    .record({ phase: fc.constantFrom('foreseen', 'happening'), priority: fc.constantFrom('note', 'soon', 'now') })
    .map(({ phase, priority }) => found(phase, priority)),
  fc.constantFrom(undefined, 'unknown', 'unsure'),
);
const moves: fc.Arbitrary<Move> = fc.oneof(
  { weight: 5, arbitrary: fc.record({ do: fc.constant('find'), saying: sayings, forS: durations }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant('see'), which: fc.nat(3) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('aside'), minutes: fc.integer({ min: 1, max: 600 }) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('restart') }) },
);

function check(story: Story, model: Model): void {
  const stands = standing(story.alerts);
  expect(new Set(stands.filter((a) => a.phase === 'over').map((a) => a.id))).toEqual(model.unseen);
  const present = stands.filter((a) => a.phase !== 'over');
  const wanted = model.present === null ? [] : [model.present];
  const facts = ({ id, phase, priority, life }: Pick<Present, 'id' | 'phase' | 'priority' | 'life'>): string =>
    `${id} ${phase} ${priority} ${life}`;
  expect(present.map(facts)).toEqual(wanted.map(facts));
}

describe('whatever happens to one alert (10 000 lives, seed 2718)', () => {
  it('goes as a person would expect: no unseen alert is lost, a worse step calls, put aside is timed', () => {
    fc.assert(
      fc.property(fc.array(moves, { maxLength: 20 }), (life) => {
        const model = new Model();
        const story = new Story({}, ['overshoot']);
        for (const move of life) {
          if (move.do === 'restart') story.restarts();
          if (move.do === 'find') {
            story.says('overshoot', move.saying);
            // Time passes in strides that meet each edge: the first second, then the rest at once.
            for (const strideS of move.forS > 1 ? [1, move.forS - 1] : [1]) {
              model.nowS += strideS;
              model.hears(move.saying);
              story.leaps(strideS);
              check(story, model);
            }
          }
          if (move.do === 'see') {
            const ids = standing(story.alerts).map((a) => a.id);
            const id = ids[move.which % Math.max(ids.length, 1)] ?? 'none';
            story.sees(id);
            model.sees(id);
          }
          if (move.do === 'aside') {
            story.putsAside(move.minutes, model.present?.id ?? 'none');
            model.putsAside(move.minutes);
          }
          check(story, model);
        }
      }),
      { seed: 2718, numRuns: 10_000 },
    );
  });
});
