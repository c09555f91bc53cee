import { useState } from 'preact/hooks';
import { recall } from './keepsakes.ts';
import { rememberName } from './person.ts';
import { acts } from './wording.ts';

export function NameField() {
  const [name, setName] = useState(recall('name') ?? '');
  return (
    <label class="name-field">
      <span>{acts.name}</span>
      <input
        type="text"
        value={name}
        placeholder={acts.fallbackName}
        maxLength={60}
        autocomplete="name"
        onInput={(event) => {
          setName(event.currentTarget.value);
          rememberName(event.currentTarget.value);
        }}
      />
    </label>
  );
}
