/** The firings of the past, newest first, each as a small curve over its plan with the painter's own words. */
import { useState } from 'preact/hooks';
import type { FiringRow } from '../daemon/wire/live-messages.ts';
import { api } from './api.ts';
import type { Dashboard } from './dashboard-state.ts';
import { FiringSearch } from './firing-search.tsx';
import { celsius, dateOf, timeOfDay } from './format.ts';
import { search as searchWords } from './record-wording.ts';
import { address } from './route.ts';
import { EMPTY_SEARCH, queryOf } from './search-query.ts';
import { Sketch } from './sketch.tsx';
import { useAnswer } from './use-answer.ts';
import { firings as words } from './wording.ts';

/** More than anybody looks through; the search finds the others. */
const MOST_ROWS = 60;
const MOST_COMPARED = 6;

export function FiringsPage({ dashboard }: { readonly dashboard: Dashboard }) {
  const { utcOffsetMinutes, mayCommand, schedules } = dashboard.snapshot;
  const [fields, setFields] = useState(EMPTY_SEARCH);
  const [ticked, setTicked] = useState<readonly string[]>([]);
  const on = dashboard.kilns.map((view) => view.now.firing?.id ?? '').join(' ');
  const answer = useAnswer(`${on} ${JSON.stringify(fields)}`, () =>
    api.firings(queryOf(fields, utcOffsetMinutes, MOST_ROWS)),
  );
  const rows = answer?.ok ? answer.value : null;
  const isAsking = Object.values(fields).some((field) => field !== '');
  const tick = (id: string, isOn: boolean): void =>
    setTicked(
      isOn ? [...ticked.filter((one) => one !== id), id].slice(-MOST_COMPARED) : ticked.filter((one) => one !== id),
    );
  const isEmpty = rows?.length === 0 && !isAsking;
  return (
    <div class="sheet" aria-busy={answer === null}>
      <h1>{words.title}</h1>
      {answer === null && <p class="quiet">{words.loading}</p>}
      {answer?.ok === false && <p class="refusal">{answer.sentence}</p>}
      {isEmpty && (
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
      {!isEmpty && (
        <FiringSearch
          fields={fields}
          kilns={dashboard.kilns}
          schedules={[...new Set(schedules.map(({ schedule }) => schedule.name))]}
          change={setFields}
        />
      )}
      {rows?.length === 0 && isAsking && <p class="quiet">{searchWords.none}</p>}
      <ol class="firing-list">
        {rows?.map((row) => (
          <Row key={row.id} row={row} isTicked={ticked.includes(row.id)} tick={(isOn) => tick(row.id, isOn)} />
        ))}
      </ol>
      {rows?.length === MOST_ROWS && <p class="quiet">{searchWords.more(MOST_ROWS)}</p>}
      {rows !== null && rows.length > 1 && (
        <p>
          {ticked.length >= 2 ? (
            <a class="step" href={address.compare(ticked)}>
              {searchWords.compare}
            </a>
          ) : (
            <span class="quiet">{searchWords.compareHint}</span>
          )}
        </p>
      )}
      <p>
        <a href={address.proof}>{searchWords.proof}</a>
      </p>
    </div>
  );
}

interface RowProps {
  readonly row: FiringRow;
  readonly isTicked: boolean;
  tick(isOn: boolean): void;
}

function Row({ row, isTicked, tick }: RowProps) {
  const name = row.scheduleName ?? words.noPlan;
  const { utcOffsetMinutes } = row;
  const when = `${dateOf(row.startedAtMs, utcOffsetMinutes)}, ${timeOfDay(row.startedAtMs, utcOffsetMinutes)}`;
  return (
    <li>
      <input
        type="checkbox"
        class="compare-tick"
        checked={isTicked}
        aria-label={searchWords.choose(`${name}, ${when}`)}
        onChange={(event) => tick(event.currentTarget.checked)}
      />
      <a href={address.firing(row.id)}>
        <Sketch points={row.sketch} plan={row.plan ?? []} />
        <span class="firing-name">
          <b>{name}</b>
          <span class="small">
            {row.kilnName}, {when}
            {row.simulated && `, ${words.simulated}`}
          </span>
          {row.words != null && <q class="small">{row.words}</q>}
        </span>
        <span class="firing-figures">
          <span>{peakOfRow(row)}</span>
          <span class="small">{row.endedAtMs === null ? words.on : words.alerts(alertCount(row))}</span>
        </span>
      </a>
    </li>
  );
}

function alertCount(row: FiringRow): number {
  return Object.values(row.alerts).reduce((sum, n) => sum + n, 0);
}

function peakOfRow(row: FiringRow): string {
  const peaks = Object.values(row.peakC);
  return peaks.length === 0 ? '' : `${words.peak} ${celsius(Math.max(...peaks))}`;
}
