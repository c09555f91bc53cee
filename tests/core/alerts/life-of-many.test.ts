/** Many alerts at once, under whatever the kiln and the people come up with: what must hold at every instant. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Alert, isLive, RANK, standing } from '../../../daemon/core/alerts/alert.ts';
import type { Finding, Opinion } from '../../../daemon/core/alerts/rule.ts';
import type { AlertEvent, AlertKind, AlertLife } from '../../../daemon/core/events.ts';
import { KINDS, Story } from './story.ts';

/** From which state which others are reached (requirement 2.1). What is gone is left by no way. */
const WAYS: Record<AlertLife | 'none', readonly AlertLife[]> = {
  none: ['calling'],
  calling: ['calling', 'seen', 'put-aside', 'over-unseen', 'needs-reset', 'gone'],
  seen: ['seen', 'calling', 'put-aside', 'needs-reset', 'gone'],
  'put-aside': ['put-aside', 'calling', 'seen', 'needs-reset', 'gone'],
  'over-unseen': ['over-unseen', 'gone'],
  'needs-reset': ['needs-reset', 'gone'],
  gone: [],
};
const PHASES = ['foreseen', 'happening', 'over'];
const CALLS_AGAIN_S = { now: 600, soon: 1200, note: Number.POSITIVE_INFINITY };

type Move =
  | { readonly do: 'say'; readonly kind: AlertKind; readonly opinion: Opinion; readonly strides: readonly number[] }
  | { readonly do: 'see' | 'reset'; readonly which: number }
  | { readonly do: 'aside'; readonly which: number; readonly minutes: number }
  | { readonly do: 'off' | 'on'; readonly kind: AlertKind }
  | { readonly do: 'segment' | 'restart' };

const kinds = fc.constantFrom(...KINDS);
const somekinds = fc.oneof({ weight: 2, arbitrary: fc.constant(undefined) }, fc.subarray([...KINDS], { maxLength: 4 }));
const finding: fc.Arbitrary<Finding> = fc.record({
  phase: fc.constantFrom('foreseen' as const, 'happening' as const),
  priority: fc.constantFrom('note' as const, 'soon' as const, 'now' as const),
  message: fc.constantFrom('One.', 'Other.'),
  because: fc.constant(''),
  leadS: fc.constantFrom(undefined, 4, 90),
  onDelayS: fc.constantFrom(undefined, 0, 40),
  cause: fc.constantFrom(undefined, 'jump'),
  explains: somekinds,
  replaces: somekinds,
});
const said = fc.oneof(
  { weight: 4, arbitrary: finding },
  fc.constantFrom(undefined, 'unknown' as const, 'unsure' as const),
);
const ofSensors: fc.Arbitrary<Opinion> = fc
  .array(
    fc.tuple(
      fc.constantFrom('top', 'shelf'),
      fc.oneof(finding, fc.constantFrom('unknown' as const, 'unsure' as const)),
    ),
    {
      maxLength: 3,
    },
  )
  .map((all) => all.map(([sensor, one]) => (typeof one === 'string' ? { doubt: one, sensor } : { ...one, sensor })));
const strides = fc.array(fc.constantFrom(1, 1, 2, 5, 12, 25, 70, 650), { minLength: 1, maxLength: 3 });
const saying: fc.Arbitrary<Move> = fc.tuple(kinds, said, ofSensors, strides).map(([kind, one, many, steps]) => ({
  do: 'say',
  kind,
  opinion: kind === 'sensor-fault' || kind === 'silence' ? (typeof one === 'string' ? one : many) : one,
  strides: steps,
}));
const moves: fc.Arbitrary<Move> = fc.oneof(
  { weight: 12, arbitrary: saying },
  { weight: 3, arbitrary: fc.record({ do: fc.constantFrom('see' as const, 'reset' as const), which: fc.nat(9) }) },
  {
    weight: 1,
    arbitrary: fc.record({ do: fc.constant('aside' as const), which: fc.nat(9), minutes: fc.constantFrom(1, 10, 600) }),
  },
  {
    weight: 1,
    arbitrary: fc.record({ do: fc.constantFrom('off' as const, 'on' as const, 'on' as const), kind: kinds }),
  },
  { weight: 1, arbitrary: fc.record({ do: fc.constantFrom('segment' as const, 'restart' as const) }) },
);

/** Follows every alert by what is said of it, and refuses what must not be. */
class Watcher {
  readonly known = new Map<string, AlertEvent>();
  readonly #seenAtS = new Map<string, number>();
  readonly #asideAtS = new Map<string, number>();

  hears(event: AlertEvent, isDeed: boolean, isSwitch: boolean): void {
    const before = this.known.get(event.id);
    const nowS = event.atMs / 1000;
    if (before === undefined) expect(event.id).toBe(`a${this.known.size + 1}`);
    else {
      expect([event.alert, event.sinceMs, event.sensor]).toEqual([before.alert, before.sinceMs, before.sensor]);
      expect(PHASES.indexOf(event.phase)).toBeGreaterThanOrEqual(PHASES.indexOf(before.phase));
      expect(RANK[event.priority]).toBeGreaterThanOrEqual(RANK[before.priority]);
    }
    const from = before?.life ?? 'none';
    expect(WAYS[from], `${from} -> ${event.life}`).toContain(event.life);
    if (event.phase !== 'over') expect(['calling', 'seen', 'put-aside']).toContain(event.life);
    // Unseen, it leaves by a person's hand only.
    if (event.life === 'gone' && ['calling', 'over-unseen', 'needs-reset'].includes(from)) expect(isDeed).toBe(true);
    if (from === 'calling' && event.life === 'gone') expect(isSwitch).toBe(true);
    if (event.life === 'seen' && from !== 'seen') expect(isDeed).toBe(true);
    // Seen silences until it is worse, or until its time.
    if (from === 'seen' && event.life === 'calling' && before !== undefined) {
      const isWorse = event.phase !== before.phase || event.priority !== before.priority;
      const sinceS = nowS - (this.#seenAtS.get(event.id) ?? 0);
      if (!isWorse) expect(sinceS).toBeGreaterThanOrEqual(CALLS_AGAIN_S[event.priority]);
    }
    if (isDeed && event.life === 'seen') this.#seenAtS.set(event.id, nowS);
    if (isDeed && event.life === 'put-aside') this.#asideAtS.set(event.id, nowS);
    if (before === undefined && event.priority === 'now' && event.heldBackBy !== undefined) {
      // A new "now" is never delayed by a group.
      expect(this.known.get(event.heldBackBy)?.priority).toBe('now');
    }
    this.known.set(event.id, event);
  }

  looksAt(story: Story): void {
    const { live } = story.alerts;
    const now = standing(story.alerts);
    // Nothing is lost, nothing is invented: what stands is what was last said.
    const expected = [...this.known.values()].filter((e) => e.life !== 'gone');
    expect(now.map((e) => e.id).sort()).toEqual(expected.map((e) => e.id).sort());
    for (const event of now) {
      const { refresh: _refresh, ...last } = this.known.get(event.id) as AlertEvent;
      expect(event).toEqual(last);
    }
    const present = live.filter(isLive).map((a) => `${a.rule}/${a.key}`);
    expect(new Set(present).size).toBe(present.length);
    for (const alert of live) this.#looksAtOne(alert, story);
  }

  #looksAtOne(alert: Alert, story: Story): void {
    const { told } = alert;
    if (told === null) return;
    if (told.life === 'put-aside' && alert.awaySinceMs === null) {
      expect(story.nowS - (this.#asideAtS.get(told.id) ?? 0)).toBeLessThan(1800);
      expect(alert.segment).toBe(story.segment);
    }
    if (told.heldBackBy === undefined) return;
    const leader = story.alerts.live.find((a) => a.told?.id === told.heldBackBy);
    expect(leader).toBeDefined();
    if (!isLive(alert)) return;
    expect(leader?.told?.phase).not.toBe('over');
    expect(leader?.told?.heldBackBy).toBeUndefined();
    if (told.priority === 'now') expect(leader?.told?.priority).toBe('now');
  }
}

/** An end that no person brought about is no work of an explanation (requirement A8). */
function endsHonestly(event: AlertEvent, story: Story, key: string): void {
  if (event.message !== 'It was.') return;
  const place = KINDS.indexOf(event.alert as (typeof KINDS)[number]);
  const causes = story.alerts.live.filter(
    (a) =>
      isLive(a) &&
      a.told !== null &&
      KINDS.indexOf(a.rule as (typeof KINDS)[number]) < place &&
      a.explains.includes(event.alert) &&
      (a.key === '' || key === '' || a.key === key),
  );
  expect(causes).toEqual([]);
}

/** A worse finding calls at once, whatever a person did with the milder one. */
function callsTheWorse(before: readonly Alert[], story: Story): void {
  for (const alert of before) {
    const opinion = story.opinions.get(alert.rule);
    if (alert.told === null || !isLive(alert) || typeof opinion !== 'object' || Array.isArray(opinion)) continue;
    const worse = opinion as Finding;
    const isWorse =
      RANK[worse.priority] > RANK[alert.priority] || (worse.phase === 'happening' && alert.told.phase === 'foreseen');
    const after = story.alerts.live.find((a) => a.told?.id === alert.told?.id);
    if (isWorse && after !== undefined && isLive(after)) expect(after.told?.life).toBe('calling');
  }
}

function keyOf(kind: AlertKind, sensor: string | undefined): string {
  return kind === 'sensor-fault' || kind === 'silence' ? (sensor ?? '') : '';
}

function lives(life: readonly Move[]): void {
  const needsReset = { needsReset: () => true };
  const story = new Story(needsReset);
  const twin = new Story(needsReset);
  const watcher = new Watcher();
  const both = (act: (one: Story) => void, isDeed: boolean, isSwitch = false): void => {
    const heard = story.said.length;
    const before = story.alerts.live;
    act(story);
    act(twin);
    for (const event of story.said.slice(heard)) {
      watcher.hears(event, isDeed, isSwitch);
      if (event.phase === 'over' && !isDeed) endsHonestly(event, story, keyOf(event.alert, event.sensor));
    }
    if (!isDeed) {
      callsTheWorse(
        before.filter((a) => !story.alerts.switchedOff.some((off) => off.alert === a.rule)),
        story,
      );
      watcher.looksAt(story);
    }
  };
  for (const move of life) {
    if (move.do === 'say') {
      story.says(move.kind, move.opinion);
      twin.says(move.kind, move.opinion);
      for (const stride of move.strides) both((one) => one.leaps(stride), false);
      continue;
    }
    const ids = standing(story.alerts).map((e) => e.id);
    const id = 'which' in move ? (ids[move.which % Math.max(ids.length, 1)] ?? 'none') : 'none';
    if (move.do === 'see') both((one) => one.sees(id), true);
    if (move.do === 'reset') both((one) => one.resets(id), true);
    if (move.do === 'aside') both((one) => one.putsAside(move.minutes, id), true);
    if (move.do === 'off') both((one) => one.switchesOff(move.kind), true, true);
    if (move.do === 'on') both((one) => one.switchesOn(move.kind), true);
    if (move.do === 'restart') story.restarts();
    if (move.do === 'segment') {
      story.segment++;
      twin.segment++;
    }
    // As in the daemon: whatever is done is followed by a look at everything.
    both((one) => one.leaps(0), false);
  }
  // Restarts have changed nothing at all.
  expect(JSON.stringify(story.said)).toBe(JSON.stringify(twin.said));
  expect(JSON.stringify(story.alerts)).toBe(JSON.stringify(twin.alerts));
}

describe('whatever happens to many alerts (10 000 firings, seed 1618)', () => {
  it('none is lost, none is doubled, each leaves by its ways only, and a restart changes nothing', () => {
    fc.assert(fc.property(fc.array(moves, { maxLength: 25 }), lives), { seed: 1618, numRuns: 10_000 });
  });
});
