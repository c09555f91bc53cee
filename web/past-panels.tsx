/** What can be read and written about a firing that is over: figures, words set right, sign-offs, files to take away. */
import { useState } from 'preact/hooks';
import { type FigureRow, figureRows } from '../daemon/wire/figure-rows.ts';
import type { FiringDetail } from '../daemon/wire/live-messages.ts';
import { type Answer, api } from './api.ts';
import { celsius } from './format.ts';
import { nameAtTheBench } from './person.ts';
import { past as words } from './record-wording.ts';
import { address } from './route.ts';
import { shownDegrees, shownDifference, unit } from './unit.ts';

/** The rows of the report, in the degrees of this screen. */
export function figuresOf(detail: FiringDetail, time: (atMs: number) => string): readonly FigureRow[] {
  return figureRows(detail, {
    celsius: (c) => `${shownDegrees(c).toFixed(1)} °${unit()}`,
    mark: celsius,
    delta: (c) => `${shownDifference(c).toFixed(1)} °${unit()}`,
    rate: (c) => `${Math.round(shownDifference(c))} °${unit()}/h`,
    time,
  });
}

export function Figures({ detail, time }: { readonly detail: FiringDetail; time(atMs: number): string }) {
  return (
    <section>
      <h2>{words.figures}</h2>
      <dl class="figures-list">
        {figuresOf(detail, time).map(({ label, value }) => (
          <>
            <dt key={label}>{label}</dt>
            <dd>{value}</dd>
          </>
        ))}
      </dl>
    </section>
  );
}

export function TakeAway({ id }: { readonly id: string }) {
  const file = (name: string): string => `/api/firings/${encodeURIComponent(id)}/${name}`;
  return (
    <section>
      <h2>{words.takeAway}</h2>
      <ul class="take-away">
        <li>
          <a href={file('report.pdf')} download>
            {words.report}
          </a>
        </li>
        <li>
          <a href={file('readings.csv')} download>
            {words.readings}
          </a>
        </li>
        <li>
          <a href={file('export.zip')} download>
            {words.everything}
          </a>
        </li>
        <li>
          <a href={address.proofOf(id)}>{words.proof}</a>
        </li>
      </ul>
    </section>
  );
}

interface SignOffsProps {
  readonly detail: FiringDetail;
  readonly mayWrite: boolean;
  time(atMs: number): string;
  written(): void;
}

export function SignOffs({ detail, mayWrite, time, written }: SignOffsProps) {
  const { signOffs, id } = detail;
  return (
    <section>
      <h2>{words.signOffs}</h2>
      <ul class="happenings">
        {signOffs.map(({ atMs, by, meaning }) => (
          <li key={atMs}>
            <time>{time(atMs)}</time>
            <span>{words.signedOff(meaning, by)}</span>
          </li>
        ))}
      </ul>
      {mayWrite && (
        <WordForm
          fields={[words.meaning]}
          button={words.signButton}
          send={([meaning = '']) => api.signOff(id, meaning, nameAtTheBench())}
          written={written}
        />
      )}
    </section>
  );
}

interface SetRightProps {
  readonly id: string;
  readonly line: number;
  written(): void;
}

/** Opens under a line that was written by hand. */
export function SetRight({ id, line, written }: SetRightProps) {
  return (
    <details class="set-right">
      <summary>{words.correct}</summary>
      <WordForm
        fields={[words.is, words.why]}
        button={words.correct}
        send={([is = '', why = '']) => api.correctLine(id, line, is, why, nameAtTheBench())}
        written={written}
      />
    </details>
  );
}

interface WordFormProps {
  readonly fields: readonly string[];
  readonly button: string;
  send(texts: readonly string[]): Promise<Answer<unknown>>;
  written(): void;
}

function WordForm({ fields, button, send, written }: WordFormProps) {
  const [texts, setTexts] = useState<readonly string[]>(fields.map(() => ''));
  const [refusal, setRefusal] = useState<string | null>(null);
  const isReady = texts.every((text) => text.trim().length >= 3);
  const press = async (): Promise<void> => {
    const answer = await send(texts.map((text) => text.trim()));
    setRefusal(answer.ok ? null : answer.sentence);
    if (!answer.ok) return;
    setTexts(fields.map(() => ''));
    written();
  };
  return (
    <form
      class="note-form"
      onSubmit={(event) => {
        event.preventDefault();
        if (isReady) void press();
      }}
    >
      {fields.map((label, index) => (
        <label key={label}>
          <span>{label}</span>
          <input
            type="text"
            maxLength={500}
            value={texts[index] ?? ''}
            onInput={(event) => setTexts(texts.with(index, event.currentTarget.value))}
          />
        </label>
      ))}
      <button type="submit" disabled={!isReady}>
        {button}
      </button>
      <p class="refusal" role="status">
        {refusal ?? ''}
      </p>
    </form>
  );
}
