/** Who keeps watch: named, handed over by name, and in the record. */
import { useState } from 'preact/hooks';
import { api } from './api.ts';
import { nameAtTheBench } from './person.ts';
import { watcherOf } from './standing-acts.ts';
import { usePress } from './use-press.ts';
import type { ActEvent } from './wire-types.ts';
import { acts as words } from './wording.ts';

interface WatchKeeperProps {
  readonly firing: string;
  readonly acts: readonly ActEvent[];
  time(atMs: number): string;
}

export function WatchKeeper({ firing, acts, time }: WatchKeeperProps) {
  const [isOpen, setOpen] = useState(false);
  const [name, setName] = useState('');
  const { isSending, refusal, press } = usePress();
  const watcher = watcherOf(acts);
  const hand = (): void => {
    const to = name.trim();
    if (to === '') return;
    press(api.act(firing, 'watch handed to', to, nameAtTheBench()));
    setOpen(false);
    setName('');
  };
  return (
    <div class="keeper">
      <p>{watcher === null ? words.noWatcher : words.watcher(watcher.value ?? '', time(watcher.atMs))}</p>
      {isOpen ? (
        <form
          onSubmit={(event) => {
            event.preventDefault();
            hand();
          }}
        >
          <label class="name-field">
            <span>{words.handTo}</span>
            <input
              type="text"
              value={name}
              maxLength={60}
              autocomplete="off"
              onInput={(event) => setName(event.currentTarget.value)}
            />
          </label>
          <div class="go">
            <button type="submit" disabled={isSending || name.trim() === ''}>
              {words.handDone}
            </button>
            <button type="button" onClick={() => setOpen(false)}>
              {words.cancel}
            </button>
          </div>
        </form>
      ) : (
        <button type="button" onClick={() => setOpen(true)}>
          {words.handOver}
        </button>
      )}
      {refusal !== null && (
        <p class="refusal" role="status">
          {refusal}
        </p>
      )}
    </div>
  );
}
