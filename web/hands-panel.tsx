/** The calendar of hands: the minutes in which somebody must be at the kiln, before it is lit. */
import { api } from './api.ts';
import { timeNear } from './format.ts';
import { inShownUnit } from './unit.ts';
import { useAnswer } from './use-answer.ts';
import type { HandsEntry } from './wire-types.ts';
import { begin as words } from './wording.ts';

interface HandsPanelProps {
  readonly kiln: string;
  readonly plan: string;
  readonly nowMs: number;
  readonly utcOffsetMinutes: number;
}

export function HandsPanel({ kiln, plan, nowMs, utcOffsetMinutes }: HandsPanelProps) {
  const answer = useAnswer(`${kiln} ${plan}`, () => api.calendar(kiln, plan));
  if (answer === null) return null;
  if (!answer.ok) return <p class="refusal">{answer.sentence}</p>;
  const time = (atMs: number): string => timeNear(atMs, nowMs, utcOffsetMinutes);
  const { hands, by } = answer.value;
  return (
    <>
      <p class="quiet">{words.handsBy[by]}</p>
      <ol class="hands">
        {hands.map((entry) => (
          <li key={`${entry.fromMs} ${entry.do}`}>
            <b class="hands-time">{entry.fromMs === null ? words.handsLater : spanOf(entry, entry.fromMs, time)}</b>
            <span class="hands-do">{inShownUnit(entry.do)}</span>
            <span class="quiet">{entry.callAtMs === null ? '' : words.callAt(time(entry.callAtMs))}</span>
          </li>
        ))}
      </ol>
    </>
  );
}

const MINUTE_MS = 60_000;

function spanOf({ toMs }: HandsEntry, fromMs: number, time: (atMs: number) => string): string {
  return toMs === null || toMs - fromMs < MINUTE_MS ? time(fromMs) : `${time(fromMs)} – ${time(toMs)}`;
}
