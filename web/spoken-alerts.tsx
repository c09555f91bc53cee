/** For those who listen: an element that is there from the start and speaks only when something begins to call (D6). */
import type { Dashboard } from './dashboard-state.ts';
import { inOrder } from './dashboard-state.ts';
import { alerts, live } from './wording.ts';

interface SpokenAlertsProps {
  readonly dashboard: Dashboard | null;
  readonly isNotLive: boolean;
}

export function SpokenAlerts({ dashboard, isNotLive }: SpokenAlertsProps) {
  const calling = inOrder((dashboard?.kilns ?? []).flatMap((view) => view.now.alerts)).filter(
    (alert) => alert.life === 'calling',
  );
  return (
    <div role="alert" class="unseen-but-heard">
      {isNotLive && <p>{live.notLive}</p>}
      {calling.map((alert) => (
        <p key={`${alert.id} ${alert.phase} ${alert.priority}`}>{alerts.spoken(alert)}</p>
      ))}
    </div>
  );
}
