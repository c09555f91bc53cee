/** What the hand did in the last firing of this plan in this kiln, so that it can be done again. */
import { useEffect, useState } from 'preact/hooks';
import type { LastTime } from '../daemon/wire/live-messages.ts';
import { api } from './api.ts';
import { celsius, dateOf } from './format.ts';
import { actWords, drawnActs, type StandingAct } from './standing-acts.ts';
import { acts as words } from './wording.ts';

/** Asked once for each firing and plan; null while there is nothing to say. */
export function useLastTime(firing: string | null, plan: string | null): LastTime | null {
  const [known, setKnown] = useState<{ readonly key: string; readonly lastTime: LastTime | null } | null>(null);
  const key = `${firing} ${plan}`;
  useEffect(() => {
    if (firing === null || plan === null) return;
    let isWanted = true;
    void api.lastTime(firing).then((answer) => {
      if (isWanted && answer.ok) setKnown({ key, lastTime: answer.value.lastTime });
    });
    return () => {
      isWanted = false;
    };
  }, [key]);
  return known?.key === key ? known.lastTime : null;
}

interface LastTimePanelProps {
  readonly lastTime: LastTime;
  readonly next: StandingAct | null;
  readonly utcOffsetMinutes: number;
}

export function LastTimePanel({ lastTime, next, utcOffsetMinutes }: LastTimePanelProps) {
  const acts = drawnActs(lastTime.acts);
  if (acts.length === 0) return null;
  return (
    <div class="last-time">
      <h2>{words.lastTime(dateOf(lastTime.startedAtMs, utcOffsetMinutes))}</h2>
      {next !== null && (
        <p class="last-time-next">
          <b>{words.lastTimeNext(actWords(next), next.celsius === null ? null : celsius(next.celsius))}</b>
        </p>
      )}
      <details>
        <summary>{words.lastTimeAll(acts.length)}</summary>
        <ul>
          {acts.map((act) => (
            <li key={act.atMs}>
              <span>{actWords(act)}</span> <span>{act.celsius === null ? '' : celsius(act.celsius)}</span>
            </li>
          ))}
        </ul>
        {lastTime.peakC !== null && <p class="quiet">{words.lastTimePeak(celsius(lastTime.peakC))}</p>}
      </details>
    </div>
  );
}
