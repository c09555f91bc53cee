/** One card for each alert of any kiln that stands, under the sentence; what is over but unseen stands further down. */
import type { AlertMessage } from '../daemon/wire/live-messages.ts';
import { wordOfAlert } from './alert-word.ts';
import { api } from './api.ts';
import { Badge } from './badge.tsx';
import { type Dashboard, inOrder } from './dashboard-state.ts';
import { timeNear } from './format.ts';
import { nameAtTheBench } from './person.ts';
import { AllWell, SwitchOff } from './switch-off.tsx';
import { inShownUnit } from './unit.ts';
import { usePress } from './use-press.ts';
import type { Heat } from './wire-types.ts';
import { phaseWord, priorityWord, alerts as words } from './wording.ts';

/** `sentence` is the page's first line: an alert that stands there already is not said twice. */
export function AlertList({ dashboard, sentence }: { readonly dashboard: Dashboard; readonly sentence: string }) {
  const standing = inOrder(alertsOf(dashboard).filter(isStanding));
  const first = standing.filter((alert) => causeOf(alert, standing) === null);
  if (first.length === 0) return null;
  return (
    <section class="alerts" aria-label={words.title}>
      {first.map((alert) => (
        <AlertCard
          key={alert.id}
          alert={alert}
          heldBack={standing.filter((one) => causeOf(one, standing)?.id === alert.id)}
          kilnName={nameOf(dashboard, alert.kiln)}
          heat={heatOf(dashboard, alert.kiln)}
          mayCommand={dashboard.snapshot.mayCommand}
          isSaid={sentence.includes(inShownUnit(alert.message))}
          nowMs={dashboard.atMs}
          utcOffsetMinutes={dashboard.snapshot.utcOffsetMinutes}
        />
      ))}
    </section>
  );
}

function isStanding(alert: AlertMessage): boolean {
  return alert.phase !== 'over' || alert.life === 'needs-reset';
}

/** The alert under which this one is listed, if that one still stands: nothing is ever listed nowhere. */
function causeOf(alert: AlertMessage, standing: readonly AlertMessage[]): AlertMessage | null {
  return (
    standing.find((one) => one.id === alert.heldBackBy && one.id !== alert.id && one.heldBackBy === undefined) ?? null
  );
}

/** Nothing here wants a hand any more: a line each, with a button to say that it was read. */
export function PastAlerts({ dashboard }: { readonly dashboard: Dashboard }) {
  const over = alertsOf(dashboard)
    .filter((alert) => !isStanding(alert))
    .sort((a, b) => b.sinceMs - a.sinceMs);
  if (over.length === 0) return null;
  return (
    <section class="past-alerts" aria-label={words.pastTitle}>
      <h2>{words.pastTitle}</h2>
      <ul>
        {over.map((alert) => (
          <PastAlert
            key={alert.id}
            alert={alert}
            kilnName={nameOf(dashboard, alert.kiln)}
            nowMs={dashboard.atMs}
            utcOffsetMinutes={dashboard.snapshot.utcOffsetMinutes}
          />
        ))}
      </ul>
    </section>
  );
}

function PastAlert({ alert, kilnName, nowMs, utcOffsetMinutes }: AlertCardProps) {
  const { isSending, refusal, press } = usePress();
  return (
    <li>
      <span class="past-time">{timeNear(alert.sinceMs, nowMs, utcOffsetMinutes)}</span>
      <span class="past-words">{named(kilnName, alert.message)}</span>
      <button type="button" disabled={isSending} onClick={() => press(api.seen(alert.id, nameAtTheBench()))}>
        {words.seen}
      </button>
      {refusal !== null && (
        <p class="refusal" role="status">
          {refusal}
        </p>
      )}
    </li>
  );
}

function alertsOf(dashboard: Dashboard): AlertMessage[] {
  return dashboard.kilns.flatMap((view) => view.now.alerts);
}

function nameOf(dashboard: Dashboard, kiln: string): string {
  const view = dashboard.kilns.length > 1 ? dashboard.kilns.find((one) => one.now.id === kiln) : undefined;
  return view === undefined ? '' : view.now.name;
}

function heatOf(dashboard: Dashboard, kiln: string): Heat | null {
  return dashboard.kilns.find((one) => one.now.id === kiln)?.now.heat ?? null;
}

/** The kiln's name before its sentence, once. */
function named(kilnName: string, message: string): string {
  const isNamed = kilnName === '' || message.startsWith(kilnName);
  return isNamed ? inShownUnit(message) : `${words.ofKiln(kilnName)}${inShownUnit(message)}`;
}

interface AlertCardProps {
  readonly alert: AlertMessage;
  /** "Kiln 4" where there are several, nothing where there is one. */
  readonly kilnName: string;
  readonly nowMs: number;
  readonly utcOffsetMinutes: number;
}

interface StandingProps extends AlertCardProps {
  readonly heat: Heat | null;
  readonly mayCommand: boolean;
  readonly isSaid: boolean;
  readonly heldBack: readonly AlertMessage[];
}

const PUT_ASIDE_MINUTES = 10;

function AlertCard({ alert, heat, mayCommand, heldBack, kilnName, isSaid, nowMs, utcOffsetMinutes }: StandingProps) {
  const { isSending, refusal, press } = usePress();
  const time = (atMs: number): string => timeNear(atMs, nowMs, utcOffsetMinutes);
  const isCalling = alert.life === 'calling' || (alert.life === 'needs-reset' && alert.seenBy === undefined);
  return (
    <article class={`alert alert-${alert.priority} life-${isCalling ? 'calling' : alert.life}`}>
      <div class="alert-words">
        <p class="alert-head">
          <Badge priority={alert.priority} word={priorityWord[alert.priority]} />
          <b class="alert-kind">{wordOfAlert(alert, heat)}</b>
          <span>
            {phaseWord[alert.phase]}, {whenWord(alert, time)}
          </span>
          {alert.seenBy !== undefined && alert.life !== 'calling' && (
            <span class="alert-seen">{words.seenBy(alert.seenBy)}</span>
          )}
          {alert.life === 'put-aside' && alert.putAsideUntilMs !== undefined && (
            <span>{words.asideUntil(time(alert.putAsideUntilMs))}</span>
          )}
        </p>
        <p class={isSaid ? 'alert-because' : 'alert-message'}>
          {isSaid ? inShownUnit(alert.because) : named(kilnName, alert.message)}
        </p>
        {alert.unknown === true && <p class="alert-unknown">{words.unknown}</p>}
        {alert.life === 'needs-reset' && <p class="alert-unknown">{words.reset}</p>}
      </div>
      {isCalling && (
        <div class="alert-deeds">
          <button
            type="button"
            class="seen"
            disabled={isSending}
            onClick={() => press(api.seen(alert.id, nameAtTheBench()))}
          >
            {words.seen}
          </button>
          {alert.life === 'needs-reset' && <AllWell alert={alert} />}
          {alert.life === 'calling' && (
            <button
              type="button"
              class="aside"
              disabled={isSending}
              onClick={() => press(api.putAside(alert.id, nameAtTheBench(), PUT_ASIDE_MINUTES))}
            >
              {words.putAside}
            </button>
          )}
        </div>
      )}
      {!isCalling && alert.life === 'needs-reset' && (
        <div class="alert-deeds">
          <AllWell alert={alert} />
        </div>
      )}
      <details>
        <summary>{words.why}</summary>
        <dl>
          {whyRows(alert).map(([name, said]) => (
            <div key={name}>
              <dt>{name}</dt>
              <dd>{said}</dd>
            </div>
          ))}
        </dl>
        {mayCommand && alert.phase !== 'over' && <SwitchOff alert={alert} />}
      </details>
      {heldBack.length > 0 && (
        <div class="held-back">
          <p class="quiet">{words.heldBack}</p>
          <ul>
            {heldBack.map((one) => (
              <li key={one.id}>
                <b>{wordOfAlert(one, heat)}</b> {inShownUnit(one.message)}
              </li>
            ))}
          </ul>
        </div>
      )}
      {refusal !== null && (
        <p class="refusal" role="status">
          {refusal}
        </p>
      )}
    </article>
  );
}

/** Why, on what figures; what comes of it; what to do, and how soon. */
function whyRows(alert: AlertMessage): [string, string][] {
  const rows: [string, string][] = [
    [words.because, inShownUnit(alert.because)],
    [words.whatToDo, alert.whatToDo],
    [words.ifNothing, alert.ifNothing],
    [words.timeToAct, alert.timeToAct],
    [words.usualCause, alert.usualCause],
  ];
  return rows.filter(([, said]) => said !== '');
}

/** When it is foreseen for, or since when it has been so. */
function whenWord(alert: AlertMessage, time: (atMs: number) => string): string {
  if (alert.phase === 'foreseen' && alert.leadS !== undefined)
    return words.foreseenFor(time(alert.atMs + alert.leadS * 1000));
  return words.since(time(alert.sinceMs));
}
