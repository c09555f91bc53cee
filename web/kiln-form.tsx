/** What may be changed of a kiln that is set up: its names, where its instruments speak, and what their figures mean. */
import { useState } from 'preact/hooks';
import type { KilnForm, SensorForm } from '../daemon/wire/setup.ts';
import { api } from './api.ts';
import { Either } from './either.tsx';
import { Choice, Field } from './fields.tsx';
import { type Correction, correctionFrom, correctionTexts, LETTERS } from './setup-draft.ts';
import { useAnswer } from './use-answer.ts';
import { usePress } from './use-press.ts';
import { useTurn } from './use-turn.ts';
import { InputFields, isUnclearSpot, SpotFields } from './where-fields.tsx';
import { setup as words } from './wording.ts';

/** A port that is pushed in now appears within this time. */
const LOOK_MS = 2000;

interface KilnFormProps {
  readonly form: KilnForm;
  readonly keptAs: string;
  /** What would break the record of a firing that is on is not asked. */
  readonly isFired: boolean;
  done(): void;
  leave(): void;
}

export function KilnFormFields({ form, keptAs, isFired, done, leave }: KilnFormProps) {
  const [draft, setDraft] = useState(form);
  const [corrections, setCorrections] = useState<readonly Correction[]>(() =>
    form.sensors.map(({ correction }) => correctionTexts(correction)),
  );
  const { isSending, refusal, press } = usePress();
  const read = corrections.map((texts, i) => correctionFrom(texts, form.sensors[i]?.correction ?? null));
  const places = useAnswer(String(useTurn(LOOK_MS)), api.places);
  const ports = places?.ok ? places.value.ports : [];
  const unclear = read.includes('unclear')
    ? words.correctionUnclear
    : draft.sensors.some(({ spot }) => isUnclearSpot(spot))
      ? words.spotUnclear
      : null;
  const isNamed = [draft, ...draft.sensors].every(({ name }) => name.trim() !== '');
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
      {isFired && <p>{words.changeInFiring}</p>}
      <Field label={words.name} value={draft.name} isWide most={60} put={(name) => setDraft({ ...draft, name })} />
      {!isFired && (
        <>
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
        </>
      )}
      {draft.inputs.map((input, i) => (
        <fieldset key={`${input.kind} ${i}`} class="sensor-fields">
          <legend>{draft.inputs.length === 1 ? words.steps.place : words.placeOf(i + 1, draft.inputs.length)}</legend>
          <InputFields
            input={input}
            ports={ports}
            kiln={form.name}
            put={(now) => setDraft({ ...draft, inputs: draft.inputs.map((one) => (one === input ? now : one)) })}
          />
        </fieldset>
      ))}
      {draft.sensors.map((sensor, i) => (
        <SensorFields
          key={sensor.was}
          sensor={sensor}
          wasInMv={form.sensors[i]?.unit === 'mV'}
          correction={corrections[i] ?? correctionTexts(null)}
          isFired={isFired}
          put={(change) => put(sensor, change)}
          correct={(texts) => setCorrections(corrections.map((one, at) => (at === i ? texts : one)))}
        />
      ))}
      <p class="go">
        <button
          type="button"
          class="main-deed"
          disabled={isSending || !isNamed || unclear !== null}
          onClick={() => press(save())}
        >
          {words.saveChange}
        </button>
        <button type="button" onClick={leave}>
          {words.leaveIt}
        </button>
      </p>
      <p class="quiet">{unclear ?? (isNamed ? words.changeKeeps(keptAs) : words.nameless)}</p>
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
  readonly isFired: boolean;
  put(change: Partial<SensorForm>): void;
  correct(texts: Correction): void;
}

function SensorFields({ isFired, ...props }: SensorFieldsProps) {
  const { sensor, put } = props;
  return (
    <fieldset class="sensor-fields">
      <legend>{sensor.was}</legend>
      <Field label={words.sensor} value={sensor.name} isWide most={40} put={(name) => put({ name })} />
      {sensor.spot !== null && <SpotFields spot={sensor.spot} put={(spot) => put({ spot })} />}
      {!isFired && <MeaningFields {...props} />}
    </fieldset>
  );
}

function MeaningFields({ sensor, wasInMv, correction, put, correct }: Omit<SensorFieldsProps, 'isFired'>) {
  const { register } = sensor;
  const units =
    register === null ? (['C', 'F', 'K', 'mV'] as const) : wasInMv ? (['mV'] as const) : (['C', 'F', 'K'] as const);
  return (
    <>
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
          <Field
            label={words.correction}
            value={correction.byC}
            isFigure
            most={8}
            put={(byC) => correct({ ...correction, byC })}
          />
          {correction.byC !== '' && (
            <>
              <Field
                isFigure
                most={8}
                label={words.correctionAt}
                value={correction.atC}
                put={(atC) => correct({ ...correction, atC })}
              />
              <Field
                isFigure
                most={8}
                label={words.correctionWithin}
                value={correction.withinC}
                put={(withinC) => correct({ ...correction, withinC })}
              />
            </>
          )}
        </>
      )}
    </>
  );
}
