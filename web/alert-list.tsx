/** One card for each alert of any kiln, under the sentence. */
import { useState } from 'preact/hooks';
import type { AlertMessage } from '../daemon/wire/live-messages.ts';
import { api } from './api.ts';
import { Badge } from './badge.tsx';
import { type Dashboard, inOrder } from './dashboard-state.ts';
import { timeNear } from './format.ts';
import { nameAtTheBench } from './person.ts';
import { phaseWord, priorityWord, alerts as words } from './wording.ts';

export function AlertList({ dashboard }: { readonly dashboard: Dashboard }) {
  const all = inOrder(dashboard.kilns.flatMap((view) => view.now.alerts));
  if (all.length === 0) return null;
  return (
    <section class="alerts" aria-label={words.title}>
      {all.map((alert) => (
        <AlertCard
          key={alert.id}
          alert={alert}
          nowMs={dashboard.atMs}
          utcOffsetMinutes={dashboard.snapshot.utcOffsetMinutes}
        />
      ))}
    </section>
  );
}

interface AlertCardProps {
  readonly alert: AlertMessage;
  readonly nowMs: number;
  readonly utcOffsetMinutes: number;
}

const PUT_ASIDE_MINUTES = 10;

function AlertCard({ alert, nowMs, utcOffsetMinutes }: AlertCardProps) {
  const [refusal, setRefusal] = useState<string | null>(null);
  const [isSending, setSending] = useState(false);
  const wantsAPress = alert.life === 'calling' || alert.life === 'over-unseen';
  const time = (atMs: number): string => timeNear(atMs, nowMs, utcOffsetMinutes);
  const press = async (sent: ReturnType<typeof api.seen>): Promise<void> => {
    setSending(true);
    const answer = await sent;
    setSending(false);
    setRefusal(answer.ok ? null : answer.sentence);
  };
  return (
    <article class={`alert alert-${alert.priority} life-${alert.life}`}>
      <div class="alert-words">
        <p class="alert-head">
          <Badge priority={alert.priority} word={priorityWord[alert.priority]} />
          <span>
            {phaseWord[alert.phase]}, {whenWord(alert, time)}
          </span>
          {alert.seenBy !== undefined && <span>{words.seenBy(alert.seenBy)}</span>}
          {alert.life === 'put-aside' && alert.putAsideUntilMs !== undefined && (
            <span>{words.asideUntil(time(alert.putAsideUntilMs))}</span>
          )}
        </p>
        <p class="alert-message">{alert.message}</p>
        {alert.unknown === true && <p class="alert-unknown">{words.unknown}</p>}
      </div>
      <div class="alert-deeds">
        {wantsAPress && (
          <button
            type="button"
            class="seen"
            disabled={isSending}
            onClick={() => void press(api.seen(alert.id, nameAtTheBench()))}
          >
            {words.seen}
          </button>
        )}
        {alert.life === 'calling' && (
          <button
            type="button"
            class="aside"
            disabled={isSending}
            onClick={() => void press(api.putAside(alert.id, nameAtTheBench(), PUT_ASIDE_MINUTES))}
          >
            {words.putAside}
          </button>
        )}
      </div>
      <details>
        <summary>{words.why}</summary>
        <p>{alert.because}</p>
      </details>
      {refusal !== null && (
        <p class="refusal" role="status">
          {refusal}
        </p>
      )}
    </article>
  );
}

/** When it is foreseen for, or since when it has been so. */
function whenWord(alert: AlertMessage, time: (atMs: number) => string): string {
  if (alert.phase === 'foreseen' && alert.leadS !== undefined)
    return words.foreseenFor(time(alert.atMs + alert.leadS * 1000));
  return words.since(time(alert.sinceMs));
}
