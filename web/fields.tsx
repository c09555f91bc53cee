/** One thing to be typed, or chosen of a few, under its name. */
import { useId } from 'preact/hooks';

interface FieldProps {
  readonly label: string;
  readonly value: string;
  readonly example?: string;
  readonly isWide?: boolean;
  readonly isSecret?: boolean;
  readonly isFigure?: boolean;
  readonly most?: number;
  put(value: string): void;
}

/** Just as it is typed: blanks at its ends are taken off where it is used, or nobody could type two words in peace. */
export function Field({ label, value, example = '', isWide = false, put, ...more }: FieldProps) {
  const id = useId();
  const { isSecret = false, isFigure = false, most } = more;
  const shared = {
    id,
    autocomplete: 'off',
    autocapitalize: 'off',
    spellcheck: false,
    value,
    placeholder: example,
    ...(isFigure && { inputMode: 'decimal' as const }),
    ...(most !== undefined && { maxLength: most }),
    onInput: (event: preact.TargetedInputEvent<HTMLInputElement>) => put(event.currentTarget.value),
  } as const;
  return (
    <label class={isWide ? 'detail wide' : 'detail'} for={id}>
      <span>{label}</span>
      {isSecret ? <input type="password" {...shared} /> : <input type="text" {...shared} />}
    </label>
  );
}

interface ChoiceProps<T extends string> {
  readonly label: string;
  readonly value: T;
  readonly options: readonly T[];
  readonly isWide?: boolean;
  readonly text?: (option: T) => string;
  readonly isShut?: (option: T) => boolean;
  put(option: T): void;
}

export function Choice<T extends string>(props: ChoiceProps<T>) {
  const { label, value, options, isWide = false, text = (option) => option, isShut = () => false, put } = props;
  const id = useId();
  return (
    <label class={isWide ? 'detail wide' : 'detail'} for={id}>
      <span>{label}</span>
      <select id={id} value={value} onChange={(event) => put(event.currentTarget.value as T)}>
        {options.map((option) => (
          <option key={option} value={option} disabled={isShut(option)}>
            {text(option)}
          </option>
        ))}
      </select>
    </label>
  );
}
