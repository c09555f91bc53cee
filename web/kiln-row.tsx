/** A kiln that is watched, as the page Kilns lists it: what it shows, and the way to change it or to take it out. */
import { useState } from 'preact/hooks';
import type { KilnForm } from '../daemon/wire/setup.ts';
import { api } from './api.ts';
import type { KilnView } from './dashboard-state.ts';
import { celsius } from './format.ts';
import { KilnFormFields } from './kiln-form.tsx';
import { usePress } from './use-press.ts';
import { setup as words } from './wording.ts';

interface KilnRowProps {
  readonly now: KilnView['now'];
  /** Null where this page may only look on. */
  readonly form: KilnForm | null;
  /** Where the file as it was is kept. */
  readonly keptAs: string;
  /** It was changed or taken out. */
  changed(): void;
}

export function KilnRow({ now, form, keptAs, changed }: KilnRowProps) {
  const [open, setOpen] = useState<'change' | 'remove' | null>(null);
  const isFired = now.firing !== null;
  const renamed = isFired ? renamedLater(now.sensors, form) : [];
  const turn = (to: typeof open): void => setOpen(open === to ? null : to);
  const done = (): void => {
    setOpen(null);
    changed();
  };
  return (
    <li>
      <div class="kiln-line">
        <b>{now.name}</b>
        <span class="quiet">
          {words.heats[now.heat]}, {words.closures[now.closure]}
        </span>
        <span class="quiet">{now.sensors.map((sensor) => `${sensor} ${shown(now.readings, sensor)}`).join(' · ')}</span>
        {form !== null && (
          <span class="kiln-deeds">
            <button type="button" aria-expanded={open === 'change'} onClick={() => turn('change')}>
              {words.change}
              <span class="unseen-but-heard"> {now.name}</span>
            </button>
            <button type="button" aria-expanded={open === 'remove'} onClick={() => turn('remove')}>
              {words.remove}
              <span class="unseen-but-heard"> {now.name}</span>
            </button>
          </span>
        )}
      </div>
      {renamed.map((sentence) => (
        <p key={sentence} class="quiet">
          {sentence}
        </p>
      ))}
      {now.troubles.map((trouble) => (
        <p key={trouble} class="refusal">
          {trouble}
        </p>
      ))}
      {form !== null && open === 'change' && (
        <KilnFormFields form={form} keptAs={keptAs} isFired={isFired} done={done} leave={() => setOpen(null)} />
      )}
      {form !== null && open === 'remove' && isFired && <p class="quiet">{words.removeInFiring}</p>}
      {form !== null && open === 'remove' && !isFired && (
        <Removal name={now.name} id={now.id} keptAs={keptAs} done={done} leave={() => setOpen(null)} />
      )}
    </li>
  );
}

/** A firing keeps the names with which it began. */
function renamedLater(sensors: readonly string[], form: KilnForm | null): string[] {
  if (form === null) return [];
  return sensors.flatMap((name, i) => {
    const later = form.sensors[i]?.name;
    return later === undefined || later === name ? [] : [`${words.renamedLater(name, later)}.`];
  });
}

function shown(readings: KilnView['now']['readings'], sensor: string): string {
  const reading = readings.find((one) => one.sensor === sensor);
  return reading?.celsius == null ? '–' : celsius(reading.celsius);
}

interface RemovalProps {
  readonly id: string;
  readonly name: string;
  readonly keptAs: string;
  done(): void;
  leave(): void;
}

/** Asked first: what goes, and what stays. */
function Removal({ id, name, keptAs, done, leave }: RemovalProps) {
  const { isSending, refusal, press } = usePress();
  const remove = async (): Promise<Awaited<ReturnType<typeof api.removeKiln>>> => {
    const answer = await api.removeKiln(id);
    if (answer.ok) done();
    return answer;
  };
  return (
    <section class="kiln-open" aria-label={words.removeWhat(name)}>
      <p>
        <b>{words.removeWhat(name)}</b> {words.removeKeeps(keptAs)}
      </p>
      <p class="go">
        <button type="button" disabled={isSending} onClick={() => press(remove())}>
          {words.removeIt}
        </button>
        <button type="button" onClick={leave}>
          {words.keepIt}
        </button>
      </p>
      {refusal !== null && (
        <p class="refusal" role="status">
          {refusal}
        </p>
      )}
    </section>
  );
}
