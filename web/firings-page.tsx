/** The firings of the past, newest first, each with a small curve. */
import type { FiringRow } from '../daemon/wire/live-messages.ts';
import { api } from './api.ts';
import type { Dashboard } from './dashboard-state.ts';
import { celsius, dateOf, timeOfDay } from './format.ts';
import { address } from './route.ts';
import { Sketch } from './sketch.tsx';
import { useAnswer } from './use-answer.ts';
import { firings as words } from './wording.ts';

export function FiringsPage({ dashboard }: { readonly dashboard: Dashboard }) {
  const { utcOffsetMinutes, mayCommand } = dashboard.snapshot;
  const on = dashboard.kilns.map((view) => view.now.firing?.id ?? '').join(' ');
  const answer = useAnswer(on, api.firings);
  const rows = answer?.ok ? answer.value : null;
  return (
    <div class="sheet" aria-busy={answer === null}>
      <h1>{words.title}</h1>
      {answer === null && <p class="quiet">{words.loading}</p>}
      {answer?.ok === false && <p class="refusal">{answer.sentence}</p>}
      {rows?.length === 0 && (
        <>
          <p class="lead">{words.empty}</p>
          {mayCommand && (
            <p>
              <a class="step" href={address.begin}>
                {words.emptyNext}
              </a>
            </p>
          )}
        </>
      )}
      <ol class="firing-list">
        {rows?.map((row) => (
          <li key={row.id}>
            <a href={address.firing(row.id)}>
              <Sketch points={row.sketch} />
              <span class="firing-name">
                <b>{row.scheduleName ?? words.noPlan}</b>
                <span class="small">
                  {row.kilnName}, {dateOf(row.startedAtMs, utcOffsetMinutes)},{' '}
                  {timeOfDay(row.startedAtMs, utcOffsetMinutes)}
                  {row.simulated && `, ${words.simulated}`}
                </span>
              </span>
              <span class="firing-figures">
                <span>{peakOfRow(row)}</span>
                <span class="small">{row.endedAtMs === null ? words.on : words.alerts(alertCount(row))}</span>
              </span>
            </a>
          </li>
        ))}
      </ol>
    </div>
  );
}

function alertCount(row: FiringRow): number {
  return Object.values(row.alerts).reduce((sum, n) => sum + n, 0);
}

function peakOfRow(row: FiringRow): string {
  const peaks = Object.values(row.peakC);
  return peaks.length === 0 ? '' : `${words.peak} ${celsius(Math.max(...peaks))}`;
}
