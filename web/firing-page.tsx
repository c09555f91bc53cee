/** One firing: its curve over its plan, what was done, what was told, what was noted. */
import { useMemo, useState } from 'preact/hooks';
import type { Curve, FiringDetail } from '../daemon/wire/live-messages.ts';
import { wordOfAlert } from './alert-word.ts';
import { type Answer, api } from './api.ts';
import { Badge } from './badge.tsx';
import { CurveSheet } from './charts.tsx';
import { AxisNote } from './curve-panel.tsx';
import { CurveTable } from './curve-table.tsx';
import { curveOfPast } from './curve-view.ts';
import type { Dashboard } from './dashboard-state.ts';
import { celsius, dateOf, duration, timeNear } from './format.ts';
import { Figures, SetRight, SignOffs, TakeAway } from './past-panels.tsx';
import { nameAtTheBench } from './person.ts';
import { NotePhoto, PhotoForm } from './photo-panel.tsx';
import { past as pastWords } from './record-wording.ts';
import { address } from './route.ts';
import { actWords, standingActs } from './standing-acts.ts';
import type { Theme } from './theme.ts';
import { inShownUnit } from './unit.ts';
import { useAnswer } from './use-answer.ts';
import type { ActEvent, AlertEvent, Heat } from './wire-types.ts';
import { acts as actsText, alerts as alertWords, phaseWord, firings as words } from './wording.ts';

interface FiringPageProps {
  readonly id: string;
  readonly dashboard: Dashboard;
  readonly theme: Theme;
}

const CURVE_POINTS = 1200;

async function askBoth(id: string): Promise<Answer<{ readonly detail: FiringDetail; readonly curve: Curve }>> {
  const [detail, curve] = await Promise.all([api.firing(id), api.curve(id, CURVE_POINTS)]);
  if (!detail.ok) return detail;
  if (!curve.ok) return curve;
  return { ok: true, value: { detail: detail.value, curve: curve.value } };
}

export function FiringPage({ id, dashboard, theme }: FiringPageProps) {
  const [turn, setTurn] = useState(0);
  const answer = useAnswer(`${id} ${turn}`, () => askBoth(id));
  return (
    <div class="sheet firing" aria-busy={answer === null}>
      <p>
        <a class="back" href={address.firings}>
          {words.back}
        </a>
      </p>
      {!answer?.ok && <h1>{words.one}</h1>}
      {answer === null && <p class="quiet">{words.loading}</p>}
      {answer?.ok === false && <p class="refusal">{answer.sentence}</p>}
      {answer?.ok && (
        <Firing
          detail={answer.value.detail}
          curve={answer.value.curve}
          dashboard={dashboard}
          theme={theme}
          askAgain={() => setTurn(turn + 1)}
        />
      )}
    </div>
  );
}

interface FiringProps {
  readonly detail: FiringDetail;
  readonly curve: Curve;
  readonly dashboard: Dashboard;
  readonly theme: Theme;
  askAgain(): void;
}

function Firing({ detail, curve, dashboard, theme, askAgain }: FiringProps) {
  const { mayCommand } = dashboard.snapshot;
  const { utcOffsetMinutes } = detail;
  const heat = dashboard.kilns.find(({ now }) => now.id === detail.kiln)?.now.heat ?? null;
  const view = useMemo(
    () => curveOfPast(detail, curve, utcOffsetMinutes, heat),
    [detail, curve, utcOffsetMinutes, heat],
  );
  const time = (atMs: number): string => timeNear(atMs, detail.startedAtMs, utcOffsetMinutes);
  const acts = standingActs(detail.acts);
  const hands = new Set(acts.map((act) => act.by));
  const oneHand = hands.size === 1 ? ([...hands][0] ?? null) : null;
  return (
    <>
      <h1>{detail.scheduleName ?? words.noPlan}</h1>
      <p class="lead">
        {detail.kilnName}, {dateOf(detail.startedAtMs, utcOffsetMinutes)}, {time(detail.startedAtMs)}
        {detail.endedAtMs === null
          ? `, ${words.on}`
          : ` to ${time(detail.endedAtMs)} (${duration((detail.endedAtMs - detail.startedAtMs) / 1000)})`}
        {detail.simulated && `, ${words.simulated}`}
      </p>
      <section class="curve curve-past" aria-label={words.curve}>
        <AxisNote view={view} />
        <CurveSheet view={view} theme={theme} label={words.curve} />
        <CurveTable view={view} />
      </section>
      {detail.figures !== null && <Figures detail={detail} time={time} />}
      {detail.figures === null && (
        <dl class="peaks">
          {Object.entries(detail.peakC).map(([sensor, peakC]) => (
            <div key={sensor}>
              <dt>{words.peakOf(sensor)}</dt>
              <dd>{celsius(peakC)}</dd>
            </div>
          ))}
          {detail.holds.map((hold) => (
            <div key={hold.segment}>
              <dt>{words.holdOf(hold.segment + 1)}</dt>
              <dd>{words.holdInBand(hold.inBandMinutes, hold.plannedMinutes)}</dd>
            </div>
          ))}
        </dl>
      )}
      {detail.list !== null && <FiledList list={detail.list} time={time} />}
      <div class="columns">
        <section>
          <h2>{words.actsBy(oneHand)}</h2>
          {acts.length === 0 && <p class="quiet">{words.noActs}</p>}
          <ul class="happenings">
            {acts.map((act) => (
              <li key={`${act.atMs} ${act.what}`}>
                <time>{time(act.atMs)}</time>
                <span>
                  {actWords(act)}
                  {act.celsius !== null && ` at ${celsius(act.celsius)}`}
                  {oneHand === null && <span class="small"> {act.by}</span>}
                  {act.first !== undefined && <span class="small"> {actsText.corrected(actWords(act.first))}</span>}
                  <Rights detail={detail} line={lineOfAct(detail, act.atMs)} mayWrite={mayCommand} written={askAgain} />
                </span>
              </li>
            ))}
          </ul>
          {detail.gaps.length > 0 && (
            <>
              <h2>{words.gaps}</h2>
              <ul class="happenings">
                {detail.gaps.map((gap) => (
                  <li key={gap.fromMs}>
                    <time>{time(gap.fromMs)}</time>
                    <span>
                      {gap.why}, {duration((gap.atMs - gap.fromMs) / 1000)}
                    </span>
                  </li>
                ))}
              </ul>
            </>
          )}
        </section>
        <section>
          <h2>{words.alertsTitle}</h2>
          {detail.alertList.length === 0 && <p class="quiet">{words.noAlerts}</p>}
          <ul class="happenings">
            {detail.alertList.map((alert) => (
              <PastAlert key={alert.id} alert={alert} heat={heat} time={time} />
            ))}
          </ul>
        </section>
      </div>
      <section>
        <h2>{words.notes}</h2>
        {detail.notes.length === 0 && <p class="quiet">{words.noNotes}</p>}
        <ul class="happenings">
          {detail.notes.map((note) => (
            <li key={`${note.atMs} ${note.text}`}>
              <time>{time(note.atMs)}</time>
              <span>
                {note.text} <span class="small">{note.by}</span>
                <NotePhoto id={detail.id} note={note} />
                <Rights detail={detail} line={note.line} mayWrite={mayCommand} written={askAgain} />
              </span>
            </li>
          ))}
        </ul>
        {mayCommand && <NoteForm id={detail.id} written={askAgain} />}
        <PhotoForm id={detail.id} written={askAgain} />
      </section>
      {detail.endedAtMs !== null && <SignOffs detail={detail} mayWrite={mayCommand} time={time} written={askAgain} />}
      <TakeAway id={detail.id} />
    </>
  );
}

interface RightsProps {
  readonly detail: FiringDetail;
  readonly line: number | undefined;
  readonly mayWrite: boolean;
  written(): void;
}

/** What a line that was written by hand should say, as it was set right since, and the way to set it right. */
function Rights({ detail, line, mayWrite, written }: RightsProps) {
  if (line === undefined) return null;
  const rights = detail.corrections.filter((one) => one.line === line);
  return (
    <>
      {rights.map(({ atMs, is, was, why, by }) => (
        <span key={atMs} class="right">
          <b>{is}</b> <span class="small">{pastWords.corrected(was, why, by)}</span>
        </span>
      ))}
      {mayWrite && detail.endedAtMs !== null && <SetRight id={detail.id} line={line} written={written} />}
    </>
  );
}

function lineOfAct(detail: FiringDetail, atMs: number): number | undefined {
  return detail.actLines[detail.acts.findIndex((act) => act.atMs === atMs && act.correctsAtMs === undefined)];
}

/** The list before lighting as it was filed: what was ticked, what was left, and what the couples said. */
function FiledList({ list, time }: { readonly list: ActEvent; time(atMs: number): string }) {
  return (
    <section>
      <h2>{words.filedList(list.by, time(list.atMs))}</h2>
      <ul class="filed-list">
        {(list.items ?? []).map((line) => (
          <li key={line.text}>
            <span class="filed-mark">{line.isDone ? words.ticked : words.left}</span> {line.text}
          </li>
        ))}
        {list.couples !== undefined && (
          <li>
            <span class="filed-mark">{words.checked}</span> {inShownUnit(list.couples.sentence)}
          </li>
        )}
      </ul>
    </section>
  );
}

interface PastAlertProps {
  readonly alert: AlertEvent;
  readonly heat: Heat | null;
  time(atMs: number): string;
}

function PastAlert({ alert, heat, time }: PastAlertProps) {
  const span =
    alert.phase === 'over'
      ? `${time(alert.sinceMs)} – ${time(alert.atMs)}`
      : `${phaseWord[alert.phase]}, ${time(alert.sinceMs)}`;
  return (
    <li class="past-alert">
      <time>{span}</time>
      <span>
        <Badge priority={alert.priority} word={wordOfAlert(alert, heat)} /> {alert.message}{' '}
        <span class="small">{alert.because}</span>
        {alert.seenBy !== undefined && <span class="small"> {alertWords.seenBy(alert.seenBy)}</span>}
      </span>
    </li>
  );
}

function NoteForm({ id, written }: { readonly id: string; written(): void }) {
  const [text, setText] = useState('');
  const [refusal, setRefusal] = useState<string | null>(null);
  const send = async (): Promise<void> => {
    const answer = await api.note(id, text.trim(), nameAtTheBench());
    setRefusal(answer.ok ? null : answer.sentence);
    if (!answer.ok) return;
    setText('');
    written();
  };
  return (
    <form
      class="note-form"
      onSubmit={(event) => {
        event.preventDefault();
        if (text.trim() !== '') void send();
      }}
    >
      <label>
        <span>{words.note}</span>
        <textarea rows={3} maxLength={2000} value={text} onInput={(event) => setText(event.currentTarget.value)} />
      </label>
      <button type="submit" disabled={text.trim() === ''}>
        {words.write}
      </button>
      <p class="refusal" role="status">
        {refusal ?? ''}
      </p>
    </form>
  );
}
