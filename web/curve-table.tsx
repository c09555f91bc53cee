/** The curve in words and figures, for those who do not see it and for print (D9). */
import type { CurveView } from './curve-view.ts';
import { plannedAt } from './curve-view.ts';
import { celsius, timeOfDay, timeTicks } from './format.ts';
import { celsiusAt } from './trace.ts';
import { table, watch } from './wording.ts';

/** A row for each round time, as many as one reads. */
const MOST_ROWS = 12;
const NEAR_MS = 10 * 60_000;

export function CurveTable({ view }: { readonly view: CurveView }) {
  const endMs = view.nowMs ?? view.toMs;
  const rows = timeTicks(view.fromMs, view.toMs, view.utcOffsetMinutes, MOST_ROWS);
  return (
    <details class="curve-words">
      <summary>{watch.inWords}</summary>
      <table>
        <thead>
          <tr>
            <th scope="col">{table.time}</th>
            <th scope="col">{table.planned}</th>
            {view.traces.map((trace) => (
              <th key={trace.name} scope="col">
                {trace.name}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((atMs) => {
            const planned = plannedAt(view.plan, atMs);
            return (
              <tr key={atMs}>
                <th scope="row">{timeOfDay(atMs, view.utcOffsetMinutes)}</th>
                <td>{planned === null ? '–' : celsius(planned)}</td>
                {view.traces.map((trace) => {
                  const measured = atMs > endMs ? null : celsiusAt(trace.points, atMs, NEAR_MS);
                  return <td key={trace.name}>{measured === null ? '–' : celsius(measured)}</td>;
                })}
              </tr>
            );
          })}
        </tbody>
      </table>
    </details>
  );
}
