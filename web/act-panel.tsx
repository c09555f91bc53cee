/** Buttons for a wet thumb: what the hand did and what the eye saw, each timed by the daemon as it is pressed. */
import { useLayoutEffect, useRef, useState } from 'preact/hooks';
import { type ActChoice, choiceOf, choicesFor, figureOf, lastFigure } from './act-choices.ts';
import { ActForm } from './act-form.tsx';
import { api } from './api.ts';
import type { Dashboard, KilnView } from './dashboard-state.ts';
import { celsius, timeNear, timeOfDay } from './format.ts';
import { LastTimePanel, useLastTime } from './last-time.tsx';
import { NameField } from './name-field.tsx';
import { nameAtTheBench } from './person.ts';
import {
  actWords,
  drawnActs,
  nextOfLastTime,
  STRUCK_OUT,
  type StandingAct,
  shownValue,
  standingActs,
} from './standing-acts.ts';
import { WatchKeeper } from './watch-keeper.tsx';
import { acts as words } from './wording.ts';

interface ActPanelProps {
  readonly dashboard: Dashboard;
  readonly kiln: KilnView;
}

/** What stands open: a new act, or the correction of one that was logged. */
interface Open {
  readonly choice: ActChoice;
  readonly corrects: StandingAct | null;
}

interface Said {
  readonly sentence: string;
  readonly isRefusal: boolean;
}

const LATELY_SHOWN = 4;

export function ActPanel({ dashboard, kiln }: ActPanelProps) {
  const [open, setOpen] = useState<Open | null>(null);
  const [said, setSaid] = useState<Said | null>(null);
  const pressed = useRef<HTMLButtonElement | null>(null);
  const wasOpen = useRef(false);
  const { firing } = kiln.now;
  const lastTime = useLastTime(firing?.id ?? null, firing?.schedule?.name ?? null);
  // The buttons come back as the form closes; the keyboard's place comes back with them.
  useLayoutEffect(() => {
    if (wasOpen.current && open === null) pressed.current?.focus();
    wasOpen.current = open !== null;
  }, [open]);
  if (firing === null) {
    return (
      <section class="acts acts-idle" aria-label={words.title}>
        <h2>{words.title}</h2>
        <p class="quiet">{words.noFiring}</p>
      </section>
    );
  }
  const { utcOffsetMinutes } = dashboard.snapshot;
  const time = (atMs: number): string => timeNear(atMs, dashboard.atMs, utcOffsetMinutes);
  const tell = (answer: { readonly ok: boolean; readonly sentence?: string }, sentence: string): void => {
    setSaid(answer.ok ? { sentence, isRefusal: false } : { sentence: answer.sentence ?? '', isRefusal: true });
    if (answer.ok) setOpen(null);
  };
  const log = async (choice: ActChoice, value: string | null): Promise<void> => {
    const answer = await api.act(firing.id, choice.what, value, nameAtTheBench());
    const what = value === null ? choice.label : `${choice.label} ${shownValue(value)}`;
    tell(answer, words.logged(what, timeOfDay(dashboard.atMs, utcOffsetMinutes)));
  };
  const correct = async (act: StandingAct, what: string, value: string | null): Promise<void> => {
    const answer = await api.correct(firing.id, act.atMs, what, value, nameAtTheBench());
    const right = actWords({ what, ...(value !== null && { value }) });
    tell(answer, what === STRUCK_OUT ? words.struckSaid(time(act.atMs)) : words.correctedSaid(right, time(act.atMs)));
  };
  const press = (choice: ActChoice, button: HTMLButtonElement): void => {
    pressed.current = button;
    setSaid(null);
    if (choice.entry.kind === 'plain') void log(choice, null);
    else setOpen({ choice, corrects: null });
  };
  const lately = standingActs(kiln.history.acts).slice(-LATELY_SHOWN).reverse();
  const nowC = kiln.now.readings.find((one) => one.sensor === kiln.now.rulingSensor)?.celsius ?? null;
  const isFalling = (kiln.now.position?.rateCPerH ?? 0) < -12;
  const next =
    lastTime === null || nowC === null ? null : nextOfLastTime(lastTime.acts, kiln.history.acts, nowC, isFalling);
  return (
    <section class="acts" aria-label={words.title}>
      {open !== null && (
        <ActForm
          choice={open.choice}
          last={
            open.corrects === null
              ? lastFigure(drawnActs(kiln.history.acts), open.choice.what)
              : figureOf(open.corrects.value)
          }
          {...(open.corrects !== null && {
            title: words.correcting(actWords(open.corrects), time(open.corrects.atMs)),
          })}
          hint={
            open.corrects === null ? (next?.what === open.choice.what ? lastTimeHint(next) : null) : words.correctNote
          }
          log={(value) =>
            open.corrects === null ? log(open.choice, value) : correct(open.corrects, open.choice.what, value)
          }
          leave={() => setOpen(null)}
          {...(open.corrects !== null && {
            notDone: () => void (open.corrects !== null && correct(open.corrects, STRUCK_OUT, null)),
          })}
        />
      )}
      {(['hand', 'eye'] as const).map((of) => (
        <div key={of} hidden={open !== null}>
          <h2>{words[of]}</h2>
          <div class="act-buttons">
            {choicesFor(kiln.now)
              .filter((choice) => choice.of === of)
              .map((choice) => (
                <button key={choice.what} type="button" onClick={(event) => press(choice, event.currentTarget)}>
                  {choice.label}
                </button>
              ))}
          </div>
        </div>
      ))}
      <p class={said?.isRefusal ? 'refusal' : 'said'} role="status">
        {said?.sentence ?? ''}
      </p>
      {lastTime !== null && <LastTimePanel lastTime={lastTime} next={next} utcOffsetMinutes={utcOffsetMinutes} />}
      {lately.length > 0 && (
        <div class="lately">
          <h2>{words.lately}</h2>
          <ul>
            {lately.map((act) => (
              <li key={act.atMs}>
                <time>{time(act.atMs)}</time>
                <span>
                  {actWords(act)}
                  {act.celsius !== null && <span class="small"> {celsius(act.celsius)}</span>}
                  {act.first !== undefined && <span class="small"> ({words.corrected(actWords(act.first))})</span>}
                </span>
                {choiceOf(act.what) !== null && (
                  <button
                    type="button"
                    class="correct"
                    aria-label={words.correcting(actWords(act), time(act.atMs))}
                    onClick={(event) => {
                      const choice = choiceOf(act.what);
                      pressed.current = event.currentTarget;
                      setSaid(null);
                      if (choice !== null) setOpen({ choice, corrects: act });
                    }}
                  >
                    {words.correct}
                  </button>
                )}
              </li>
            ))}
          </ul>
        </div>
      )}
      <WatchKeeper firing={firing.id} acts={kiln.history.acts} time={time} />
      <NameField />
    </section>
  );
}

function lastTimeHint(act: StandingAct): string {
  return `${words.lastTimeWord}: ${words.lastTimeNext(actWords(act), act.celsius === null ? null : celsius(act.celsius))}`;
}
