/** One of a few, each a button. */
interface EitherProps<Key extends string> {
  readonly label: string;
  readonly options: Readonly<Record<Key, string>>;
  readonly chosen: Key | null;
  choose(key: Key): void;
}

export function Either<Key extends string>({ label, options, chosen, choose }: EitherProps<Key>) {
  return (
    <div class="detail wide">
      <span>{label}</span>
      <fieldset class="either" aria-label={label}>
        {(Object.entries(options) as [Key, string][]).map(([key, text]) => (
          <button key={key} type="button" aria-pressed={chosen === key} onClick={() => choose(key)}>
            {text}
          </button>
        ))}
      </fieldset>
    </div>
  );
}
