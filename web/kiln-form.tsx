/** What may be changed of a kiln that is set up: its name, its couples, and what their figures mean. */
import { useId, useState } from 'preact/hooks';
import type { KilnForm, SensorForm } from '../daemon/wire/setup.ts';
import { api } from './api.ts';
import { Either } from './either.tsx';
import { type Correction, correctionFrom, correctionTexts, LETTERS } from './setup-draft.ts';
import { usePress } from './use-press.ts';
import { setup as words } from './wording.ts';

interface KilnFormProps {
  readonly form: KilnForm;
  readonly keptAs: string;
  done(): void;
  leave(): void;
}

export function KilnFormFields({ form, keptAs, done, leave }: KilnFormProps) {
  const [draft, setDraft] = useState(form);
  const [corrections, setCorrections] = useState<readonly Correction[]>(() =>
    form.sensors.map(({ correction }) => correctionTexts(correction)),
  );
  const { isSending, refusal, press } = usePress();
  const read = corrections.map((texts, i) => correctionFrom(texts, form.sensors[i]?.correction ?? null));
  const isUnclear = read.includes('unclear');
  const put = (sensor: SensorForm, change: Partial<SensorForm>): void =>
    setDraft({ ...draft, sensors: draft.sensors.map((one) => (one === sensor ? { ...one, ...change } : one)) });
  const save = async (): Promise<Awaited<ReturnType<typeof api.changeKiln>>> => {
    const sensors = draft.sensors.map((sensor, i) => {
      const correction = read[i];
      return { ...sensor, correction: correction === 'unclear' || correction === undefined ? null : correction };
    });
    const answer = await api.changeKiln({ ...draft, sensors });
    if (answer.ok) done();
    return answer;
  };
  return (
    <section class="kiln-open" aria-label={words.changeWhat(form.name)}>
      <label class="detail wide">
        <span>{words.name}</span>
        <input
          type="text"
          maxLength={60}
          value={draft.name}
          onInput={(event) => setDraft({ ...draft, name: event.currentTarget.value })}
        />
      </label>
      <Either<KilnForm['heat']>
        label={words.heat}
        options={words.heats}
        chosen={draft.heat}
        choose={(heat) => setDraft({ ...draft, heat })}
      />
      <Either<KilnForm['closure']>
        label={words.closure}
        options={words.closures}
        chosen={draft.closure}
        choose={(closure) => setDraft({ ...draft, closure })}
      />
      {draft.sensors.map((sensor, i) => (
        <SensorFields
          key={sensor.name}
          sensor={sensor}
          wasInMv={form.sensors[i]?.unit === 'mV'}
          correction={corrections[i] ?? correctionTexts(null)}
          put={(change) => put(sensor, change)}
          correct={(texts) => setCorrections(corrections.map((one, at) => (at === i ? texts : one)))}
        />
      ))}
      <p class="go">
        <button
          type="button"
          class="main-deed"
          disabled={isSending || draft.name.trim() === '' || isUnclear}
          onClick={() => press(save())}
        >
          {words.saveChange}
        </button>
        <button type="button" onClick={leave}>
          {words.leaveIt}
        </button>
      </p>
      <p class="quiet">{isUnclear ? words.correctionUnclear : words.changeKeeps(keptAs)}</p>
      <p class="refusal" role="status">
        {refusal ?? ''}
      </p>
    </section>
  );
}

interface SensorFieldsProps {
  readonly sensor: SensorForm;
  /** A register in mV is described in the file alone. */
  readonly wasInMv: boolean;
  readonly correction: Correction;
  put(change: Partial<SensorForm>): void;
  correct(texts: Correction): void;
}

function SensorFields({ sensor, wasInMv, correction, put, correct }: SensorFieldsProps) {
  const { register } = sensor;
  const units =
    register === null ? (['C', 'F', 'K', 'mV'] as const) : wasInMv ? (['mV'] as const) : (['C', 'F', 'K'] as const);
  return (
    <fieldset class="sensor-fields">
      <legend>{sensor.name}</legend>
      <Choice
        label={words.letter}
        value={sensor.letter}
        options={LETTERS}
        text={words.couple}
        put={(letter) => put({ letter })}
      />
      <Choice
        label={words.meaning}
        value={sensor.unit}
        options={units}
        text={(unit) => words.units[unit]}
        put={(unit) => put({ unit })}
      />
      {register !== null && (
        <>
          <Choice
            label={words.registerType}
            value={register.type}
            options={['int16', 'uint16', 'int32', 'uint32', 'float32'] as const}
            put={(type) => put({ register: { ...register, type } })}
          />
          {register.type.endsWith('32') && (
            <Choice
              label={words.order}
              value={register.order}
              options={['ABCD', 'CDAB', 'BADC', 'DCBA'] as const}
              put={(order) => put({ register: { ...register, order } })}
            />
          )}
          <Choice
            label={words.scale}
            value={String(register.scale)}
            options={[...new Set(['1', '0.1', '0.01', '0.001', String(register.scale)])]}
            put={(scale) => put({ register: { ...register, scale: Number(scale) } })}
          />
        </>
      )}
      {sensor.correction === 'certificate' ? (
        <p class="quiet">{words.certificate}</p>
      ) : (
        <>
          <Figure label={words.correction} value={correction.byC} put={(byC) => correct({ ...correction, byC })} />
          {correction.byC !== '' && (
            <>
              <Figure
                label={words.correctionAt}
                value={correction.atC}
                put={(atC) => correct({ ...correction, atC })}
              />
              <Figure
                label={words.correctionWithin}
                value={correction.withinC}
                put={(withinC) => correct({ ...correction, withinC })}
              />
            </>
          )}
        </>
      )}
    </fieldset>
  );
}

interface ChoiceProps<T extends string> {
  readonly label: string;
  readonly value: T;
  readonly options: readonly T[];
  readonly text?: (option: T) => string;
  put(option: T): void;
}

function Choice<T extends string>({ label, value, options, text = (option) => option, put }: ChoiceProps<T>) {
  return (
    <label class="detail">
      <span>{label}</span>
      <select value={value} onChange={(event) => put(event.currentTarget.value as T)}>
        {options.map((option) => (
          <option key={option} value={option}>
            {text(option)}
          </option>
        ))}
      </select>
    </label>
  );
}

function Figure({ label, value, put }: { readonly label: string; readonly value: string; put(text: string): void }) {
  const id = useId();
  return (
    <label class="detail" for={id}>
      <span>{label}</span>
      <input
        id={id}
        type="text"
        inputMode="decimal"
        autocomplete="off"
        maxLength={8}
        value={value}
        onInput={(event) => put(event.currentTarget.value.trim())}
      />
    </label>
  );
}
