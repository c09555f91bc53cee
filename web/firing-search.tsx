/** The form above the list of firings. What it asks for goes to the daemon, which has thousands of them at hand. */
import type { KilnView } from './dashboard-state.ts';
import { search as words } from './record-wording.ts';
import type { SearchFields } from './search-query.ts';
import { alertWord } from './wording.ts';

interface FiringSearchProps {
  readonly fields: SearchFields;
  readonly kilns: readonly KilnView[];
  readonly schedules: readonly string[];
  change(fields: SearchFields): void;
}

export function FiringSearch({ fields, kilns, schedules, change }: FiringSearchProps) {
  const field = (key: keyof SearchFields) => ({
    value: fields[key],
    onInput: (event: { currentTarget: { value: string } }) => change({ ...fields, [key]: event.currentTarget.value }),
  });
  return (
    <form class="search-form" aria-label={words.label} onSubmit={(event) => event.preventDefault()}>
      <label>
        <span>{words.text}</span>
        <input type="search" maxLength={200} placeholder={words.textHint} {...field('text')} />
      </label>
      <details class="search-more">
        <summary>{words.narrower}</summary>
        <div class="search-fields">
          <label>
            <span>{words.kiln}</span>
            <select {...field('kiln')}>
              <option value="">{words.any}</option>
              {kilns.map(({ now }) => (
                <option key={now.id} value={now.id}>
                  {now.name}
                </option>
              ))}
            </select>
          </label>
          <label>
            <span>{words.schedule}</span>
            <select {...field('schedule')}>
              <option value="">{words.any}</option>
              {schedules.map((name) => (
                <option key={name} value={name}>
                  {name}
                </option>
              ))}
            </select>
          </label>
          <label>
            <span>{words.alert}</span>
            <select {...field('alert')}>
              <option value="">{words.any}</option>
              {Object.entries(alertWord).map(([kind, word]) => (
                <option key={kind} value={kind}>
                  {word}
                </option>
              ))}
            </select>
          </label>
          <label>
            <span>{words.from}</span>
            <input type="date" {...field('from')} />
          </label>
          <label>
            <span>{words.to}</span>
            <input type="date" {...field('to')} />
          </label>
        </div>
      </details>
    </form>
  );
}
