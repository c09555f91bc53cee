/** What comes next and when, by the wall's clock; acts of the hand that are due stand as calm cards. */

import { api } from './api.ts';
import type { KilnView } from './dashboard-state.ts';
import { timeNear } from './format.ts';
import { nameAtTheBench } from './person.ts';
import { usePress } from './use-press.ts';
import type { Call } from './wire-types.ts';
import { watch } from './wording.ts';

interface NextPanelProps {
  readonly kiln: KilnView;
  readonly nowMs: number;
  readonly utcOffsetMinutes: number;
  /** When it is not live nothing may be promised. */
  readonly isLive: boolean;
}

/** More than these would crowd the glance. */
const COMING_SHOWN = 3;

export function NextPanel({ kiln, nowMs, utcOffsetMinutes, isLive }: NextPanelProps) {
  const { position, firing, alerts } = kiln.now;
  if (firing === null || position === null || !isLive) return null;
  const time = (atMs: number): string => timeNear(atMs, nowMs, utcOffsetMinutes);
  // An alert asks something of the hand in its own words.
  const isHandWanted = alerts.some((alert) => alert.phase !== 'over');
  const calls = byTime(position.calls);
  const due = calls.filter((call) => call.state === 'due');
  const coming = calls.filter((call) => call.state === 'coming');
  const [first] = coming;
  // The clause names the next act already; the list then goes on with the one after it.
  const isFirstNamed = due.length > 0 || (first !== undefined && position.next?.includes(first.do) === true);
  const listed = (due.length === 0 && isFirstNamed ? coming.slice(1) : coming).slice(0, COMING_SHOWN);
  return (
    <section class="next" aria-label={watch.next}>
      {due.map((call) => (
        <DueCard
          key={call.id}
          call={call}
          firing={firing.id}
          time={call.dueAtMs === null ? null : time(call.dueAtMs)}
        />
      ))}
      {due.length === 0 && (position.next !== null || !isHandWanted) && (
        <p class="next-clause">
          <span class="label">{watch.next}</span>
          <b>{position.next ?? watch.nothingNext}</b>
        </p>
      )}
      {listed.length > 0 && (
        <ul class="coming">
          {listed.map((call) => (
            <li key={call.id}>
              <span>{call.do}</span> <time>{call.dueAtMs === null ? watch.someTime : time(call.dueAtMs)}</time>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

/** What has a time comes before what nobody can say yet. */
function byTime(calls: readonly Call[]): Call[] {
  return [...calls].sort((a, b) => (a.dueAtMs ?? Number.POSITIVE_INFINITY) - (b.dueAtMs ?? Number.POSITIVE_INFINITY));
}

interface DueCardProps {
  readonly call: Call;
  readonly firing: string;
  readonly time: string | null;
}

/** Done is an act of the hand like any other: it is logged in the call's own words, and the call is answered. */
function DueCard({ call, firing, time }: DueCardProps) {
  const { isSending, refusal, press } = usePress();
  return (
    <div class="due">
      <p>
        <span class="label">{watch.comeNow}</span>
        <b>{call.do}</b>
        {time !== null && <time>{watch.at(time)}</time>}
      </p>
      <button
        type="button"
        disabled={isSending}
        onClick={() => press(api.act(firing, call.do, null, nameAtTheBench()))}
      >
        {watch.done}
      </button>
      {refusal !== null && (
        <p class="refusal" role="status">
          {refusal}
        </p>
      )}
    </div>
  );
}
