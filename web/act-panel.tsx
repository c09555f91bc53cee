/** Buttons for a wet thumb: what the hand did and what the eye saw, each timed by the daemon as it is pressed. */
import { useLayoutEffect, useRef, useState } from 'preact/hooks';
import { type ActChoice, choicesFor, lastFigure } from './act-choices.ts';
import { ActForm } from './act-form.tsx';
import { api } from './api.ts';
import type { Dashboard, KilnView } from './dashboard-state.ts';
import { timeOfDay } from './format.ts';
import { NameField } from './name-field.tsx';
import { nameAtTheBench } from './person.ts';
import { acts as words } from './wording.ts';

interface ActPanelProps {
  readonly dashboard: Dashboard;
  readonly kiln: KilnView;
}

export function ActPanel({ dashboard, kiln }: ActPanelProps) {
  const [open, setOpen] = useState<ActChoice | null>(null);
  const [said, setSaid] = useState<{ readonly sentence: string; readonly isRefusal: boolean } | null>(null);
  const pressed = useRef<HTMLButtonElement | null>(null);
  const wasOpen = useRef(false);
  const { firing } = kiln.now;
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
  const log = async (choice: ActChoice, value: string | null): Promise<void> => {
    const answer = await api.act(firing.id, choice.what, value, nameAtTheBench());
    if (answer.ok) {
      const what = value === null ? choice.label : `${choice.label} ${value}`;
      setSaid({
        sentence: words.logged(what, timeOfDay(dashboard.atMs, dashboard.snapshot.utcOffsetMinutes)),
        isRefusal: false,
      });
      setOpen(null);
    } else setSaid({ sentence: answer.sentence, isRefusal: true });
  };
  return (
    <section class="acts" aria-label={words.title}>
      <h2>{words.title}</h2>
      {open !== null && (
        <ActForm
          choice={open}
          last={lastFigure(kiln.history.acts, open.what)}
          log={(value) => log(open, value)}
          leave={() => setOpen(null)}
        />
      )}
      <div class="act-buttons" hidden={open !== null}>
        {choicesFor(kiln.now.heat).map((choice) => (
          <button
            key={choice.what}
            type="button"
            onClick={(event) => {
              pressed.current = event.currentTarget;
              setSaid(null);
              setOpen(choice);
            }}
          >
            {choice.label}
          </button>
        ))}
      </div>
      <p class={said?.isRefusal ? 'refusal' : 'said'} role="status">
        {said?.sentence ?? ''}
      </p>
      <NameField />
    </section>
  );
}
