/** The small form that opens for one act: a figure in big digits, a choice, or only "log it". */
import { useEffect, useRef, useState } from 'preact/hooks';
import { type ActChoice, readFigure } from './act-choices.ts';
import { acts as words } from './wording.ts';

interface ActFormProps {
  readonly choice: ActChoice;
  readonly last: string | null;
  /** Instead of the choice's own label: what is corrected. */
  readonly title?: string;
  /** Under the figure: what was done last time. */
  readonly hint?: string | null;
  log(value: string | null): Promise<void>;
  leave(): void;
  /** Of a correction: nothing was done at all. */
  notDone?(): void;
}

export function ActForm({ choice, last, title, hint, log, leave, notDone }: ActFormProps) {
  const { entry } = choice;
  const [typed, setTyped] = useState(last ?? (entry.kind === 'figure' ? String(entry.start()) : ''));
  const [isSending, setSending] = useState(false);
  const [isAmiss, setAmiss] = useState(false);
  const first = useRef<HTMLElement | null>(null);
  useEffect(() => first.current?.focus(), []);

  const send = async (value: string | null): Promise<void> => {
    setSending(true);
    await log(value);
    setSending(false);
  };
  const sendFigure = (): void => {
    const figure = readFigure(typed);
    setAmiss(figure === null);
    if (figure !== null && entry.kind === 'figure') void send(entry.write(figure));
  };
  const nudge = (by: number): void => {
    const next = Math.max(0, Number(readFigure(typed) ?? 0) + by);
    setTyped(String(Math.round(next * 1000) / 1000));
  };
  return (
    <form
      class="act-form"
      aria-label={choice.label}
      onSubmit={(event) => {
        event.preventDefault();
        if (entry.kind === 'figure') sendFigure();
        else if (entry.kind === 'plain') void send(null);
      }}
      onKeyDown={(event) => {
        if (event.key === 'Escape') leave();
      }}
    >
      <p class="act-name">{title ?? choice.label}</p>
      {hint != null && <p class="quiet">{hint}</p>}
      {entry.kind === 'figure' && (
        <div class="act-figure">
          <button type="button" aria-label={words.less} onClick={() => nudge(-entry.step)}>
            −
          </button>
          <label>
            <span>{entry.hint()}</span>
            <input
              ref={(element) => {
                first.current = element;
              }}
              type="text"
              inputMode="decimal"
              autocomplete="off"
              maxLength={9}
              value={typed}
              onFocus={(event) => event.currentTarget.select()}
              onInput={(event) => setTyped(event.currentTarget.value)}
            />
          </label>
          <button type="button" aria-label={words.more} onClick={() => nudge(entry.step)}>
            +
          </button>
        </div>
      )}
      {isAmiss && (
        <p class="refusal" role="status">
          {words.emptyValue}
        </p>
      )}
      {entry.kind === 'choice' ? (
        <div class="act-choice">
          {entry.of.map((value, i) => (
            <button
              key={value}
              type="button"
              disabled={isSending}
              ref={(element) => {
                if (i === 0) first.current = element;
              }}
              onClick={() => void send(value)}
            >
              {value}
            </button>
          ))}
        </div>
      ) : (
        <button
          type="submit"
          class="log"
          disabled={isSending}
          ref={(element) => {
            if (entry.kind === 'plain') first.current = element;
          }}
        >
          {words.log}
        </button>
      )}
      {notDone !== undefined && (
        <button type="button" class="leave" disabled={isSending} onClick={notDone}>
          {words.notDone}
        </button>
      )}
      <button type="button" class="leave" onClick={leave}>
        {words.cancel}
      </button>
    </form>
  );
}
