/** Rules that find what they are told to, a clock, and what was said: so that a test of an alert's life reads as a story. */
import { type Alerts, isCall, NO_ALERTS, type Told } from '../../../daemon/core/alerts/alert.ts';
import { putAside, resetAlert, seeAlert, switchOff, switchOn } from '../../../daemon/core/alerts/answers.ts';
import { judgeAlerts } from '../../../daemon/core/alerts/lifecycle.ts';
import type { Finding, Opinion, Rule, View } from '../../../daemon/core/alerts/rule.ts';
import type { AlertEvent, AlertKind, Priority } from '../../../daemon/core/events.ts';
import { beginFiring } from '../../../daemon/core/state.ts';
import { startPlan } from '../../../daemon/core/tracking/plan-track.ts';
import { viewOf } from '../../../daemon/core/view.ts';
import { kilnOf } from '../feeding.ts';

export const ON_S = 10;
export const OFF_S = 20;

/** The first cause first, as in the catalogue. */
export const KINDS = ['silence', 'sensor-fault', 'lid-open-hot', 'heat-lost', 'overshoot', 'stalled-ramp'] as const;

export function found(phase: Finding['phase'], priority: Priority = 'now', more: Partial<Finding> = {}): Finding {
  return { phase, priority, message: 'Turn down.', because: '', ...more };
}

const bare = viewOf(beginFiring(kilnOf(), null, 0));
const track = startPlan({ atMs: 0, celsius: 20 });

export class Story {
  alerts: Alerts = NO_ALERTS;
  nowS = 0;
  segment = 0;
  readonly said: AlertEvent[] = [];
  readonly opinions = new Map<AlertKind, Opinion>();
  readonly rules: readonly Rule[];

  constructor(overrides: Partial<Rule> = {}, kinds: readonly AlertKind[] = KINDS) {
    this.rules = kinds.map((alert) => ({
      alert,
      onDelayS: ON_S,
      offDelayS: OFF_S,
      cause: '',
      consequence: '',
      whatToDo: { gas: '', electric: '' },
      timeToAct: '',
      priority: 'now',
      afterwards: () => 'It was.',
      judge: () => this.opinions.get(alert),
      ...overrides,
    }));
  }

  /** From now on a rule is of this opinion. */
  says(kind: AlertKind, opinion: Opinion): this {
    this.opinions.set(kind, opinion);
    return this;
  }
  /** Second by second. */
  passes(seconds: number): this {
    for (let s = 0; s < seconds; s++) this.leaps(1);
    return this;
  }
  leaps(seconds: number): this {
    this.nowS += seconds;
    return this.take(judgeAlerts(this.alerts, this.rules, this.view()));
  }
  finds(opinion: Opinion, forS: number): this {
    return this.says('overshoot', opinion).passes(forS);
  }
  sees(id = this.last().id, by = 'painter'): this {
    return this.take(seeAlert(this.alerts, id, by, this.nowS * 1000));
  }
  putsAside(minutes: number, id = this.last().id): this {
    return this.take(putAside(this.alerts, id, 'painter', minutes, this.segment, this.nowS * 1000));
  }
  resets(id = this.last().id): this {
    return this.take(resetAlert(this.alerts, id, 'painter', this.nowS * 1000));
  }
  switchesOff(kind: AlertKind, why = 'the switch is broken'): this {
    return this.take(switchOff(this.alerts, kind, 'painter', why, this.nowS * 1000));
  }
  switchesOn(kind: AlertKind): this {
    return this.take({ alerts: switchOn(this.alerts, kind), events: [] });
  }
  /** As a restart does: all that is remembered goes through text. */
  restarts(): this {
    this.alerts = JSON.parse(JSON.stringify(this.alerts)) as Alerts;
    return this;
  }
  last(): AlertEvent {
    const last = this.said[this.said.length - 1];
    if (last === undefined) throw new Error('nothing was said');
    return last;
  }
  told(): string[] {
    return this.said.filter((e) => e.refresh !== true).map((e) => `${e.atMs / 1000} ${e.phase} ${e.life}`);
  }
  /** What was called out, kind by kind. */
  calls(): string[] {
    return this.said.filter(isCall).map((e) => `${e.atMs / 1000} ${e.alert} ${e.phase}`);
  }
  /** The alert of a kind that stands last. */
  of(kind: AlertKind): AlertEvent | undefined {
    return this.alerts.live.findLast((a) => a.rule === kind && a.told !== null)?.told ?? undefined;
  }
  private view(): View {
    return { ...bare, nowMs: this.nowS * 1000, track: { ...track, segment: this.segment } };
  }
  private take({ alerts, events }: Told): this {
    this.alerts = alerts;
    this.said.push(...events);
    return this;
  }
}
