/** What is not watched in a firing, by whom and why; and "all is well again" for what wants a person's word. */
import { useState } from 'preact/hooks';
import type { AlertMessage } from '../daemon/wire/live-messages.ts';
import { kindWord } from './alert-word.ts';
import { api } from './api.ts';
import type { Dashboard, KilnView } from './dashboard-state.ts';
import { timeNear } from './format.ts';
import { nameAtTheBench } from './person.ts';
import { usePress } from './use-press.ts';
import { alerts as words } from './wording.ts';

interface SwitchedOffProps {
  readonly dashboard: Dashboard;
  readonly kiln: KilnView;
}

/** Stands as long as the firing lasts (requirement A14): what was switched off is not forgotten. */
export function SwitchedOffLines({ dashboard, kiln }: SwitchedOffProps) {
  const { firing, switchedOff } = kiln.now;
  const { isSending, refusal, press } = usePress();
  const { mayCommand, utcOffsetMinutes } = dashboard.snapshot;
  if (firing === null || switchedOff.length === 0) return null;
  return (
    <ul class="switched-off">
      {switchedOff.map((off) => (
        <li key={off.alert}>
          <span>
            {words.switchedOff(
              kindWord(off.alert, kiln.now.heat),
              off.by,
              timeNear(off.sinceMs, dashboard.atMs, utcOffsetMinutes),
              off.why,
            )}
          </span>
          {mayCommand && (
            <button
              type="button"
              disabled={isSending}
              onClick={() => press(api.switchOn(firing.id, off.alert, nameAtTheBench()))}
            >
              {words.switchOn}
            </button>
          )}
        </li>
      ))}
      {refusal !== null && <li class="refusal">{refusal}</li>}
    </ul>
  );
}

/** Asked for a reason, and confirmed: a kind that is not watched warns nobody. */
export function SwitchOff({ alert }: { readonly alert: AlertMessage }) {
  const [isOpen, setOpen] = useState(false);
  const [why, setWhy] = useState('');
  const { isSending, refusal, press } = usePress();
  const { firing } = alert;
  if (firing === null) return null;
  if (!isOpen) {
    return (
      <p>
        <button type="button" class="correct" onClick={() => setOpen(true)}>
          {words.switchOff}
        </button>
      </p>
    );
  }
  return (
    <form
      class="switch-off"
      onSubmit={(event) => {
        event.preventDefault();
        press(api.switchOff(firing, alert.alert, why.trim(), nameAtTheBench()));
      }}
    >
      <label>
        <span>{words.switchOffWhy}</span>
        <input
          type="text"
          value={why}
          maxLength={200}
          autocomplete="off"
          onInput={(event) => setWhy(event.currentTarget.value)}
        />
      </label>
      <p class="quiet">{words.switchOffNote}</p>
      <button type="submit" disabled={isSending || why.trim().length < 3}>
        {words.switchOffSure}
      </button>
      {refusal !== null && (
        <p class="refusal" role="status">
          {refusal}
        </p>
      )}
    </form>
  );
}

/** Who has looked says that all is well; while the fault is still found nobody can. */
export function AllWell({ alert }: { readonly alert: AlertMessage }) {
  const { isSending, refusal, press } = usePress();
  return (
    <>
      <button
        type="button"
        class="aside"
        disabled={isSending}
        onClick={() => press(api.reset(alert.id, nameAtTheBench()))}
      >
        {words.allWell}
      </button>
      {refusal !== null && (
        <p class="refusal" role="status">
          {refusal}
        </p>
      )}
    </>
  );
}
