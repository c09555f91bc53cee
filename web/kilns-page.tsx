/** The kilns that are watched, and the way from an instrument that was just plugged in to its first reading. */
import { useState } from 'preact/hooks';
import type { NewKiln } from '../daemon/wire/setup.ts';
import { api } from './api.ts';
import type { Dashboard } from './dashboard-state.ts';
import { EarStep } from './ear-step.tsx';
import { Either } from './either.tsx';
import { KilnRow } from './kiln-row.tsx';
import { PlaceStep } from './place-step.tsx';
import { address } from './route.ts';
import { type Pick, stillHeard } from './setup-draft.ts';
import { useAnswer } from './use-answer.ts';
import { useEar } from './use-ear.ts';
import { usePress } from './use-press.ts';
import { setup as words } from './wording.ts';

interface KilnsPageProps {
  readonly dashboard: Dashboard;
  choose(id: string): void;
}

export function KilnsPage({ dashboard, choose }: KilnsPageProps) {
  const { kilns, snapshot } = dashboard;
  const { mayCommand } = snapshot;
  const [turn, setTurn] = useState(0);
  const key = `${turn} ${mayCommand} ${kilns.map(({ now }) => now.id).join(' ')}`;
  const answer = useAnswer(key, mayCommand ? api.kilnForms : nobodyAsks);
  const forms = answer?.ok ? answer.value.kilns : [];
  return (
    <div class="sheet begin setup">
      <h1>{words.title}</h1>
      {kilns.length === 0 && <p class="lead">{mayCommand ? words.first : words.elsewhere}</p>}
      {kilns.length > 0 && (
        <ul class="kiln-list">
          {kilns.map(({ now }) => (
            <KilnRow
              key={now.id}
              now={now}
              form={forms.find(({ id }) => id === now.id) ?? null}
              keptAs={answer?.ok ? answer.value.keptAs : ''}
              changed={() => setTurn(turn + 1)}
            />
          ))}
        </ul>
      )}
      {mayCommand && <NewKilnSteps count={kilns.length} choose={choose} />}
      {!mayCommand && kilns.length > 0 && <p class="quiet">{words.elsewhere}</p>}
    </div>
  );
}

const nobodyAsks = async (): Promise<Awaited<ReturnType<typeof api.kilnForms>>> => ({ ok: false, sentence: '' });

function NewKilnSteps({ count, choose }: { readonly count: number; choose(id: string): void }) {
  const hearing = useEar();
  const places = useAnswer('file', api.places);
  const [picked, setPicks] = useState<readonly Pick[]>([]);
  const [name, setName] = useState(words.newName(count));
  const [heat, setHeat] = useState<NewKiln['heat'] | null>(null);
  const [closure, setClosure] = useState<NewKiln['closure'] | null>(null);
  const { isSending, refusal, press } = usePress();
  const picks = stillHeard(picked, hearing.ear);
  const isNamed = name.trim() !== '' && picks.every(({ sensor }) => sensor.trim() !== '');
  const missing =
    picks.length === 0
      ? words.still.pick
      : heat === null || closure === null
        ? words.still.kiln
        : isNamed
          ? null
          : words.nameless;

  const save = async (): Promise<Awaited<ReturnType<typeof api.addKiln>>> => {
    const kiln = { name, heat: heat ?? 'gas', closure: closure ?? 'door', picks: [...picks] };
    hearing.rest(true);
    const answer = await api.addKiln(kiln);
    hearing.rest(answer.ok);
    if (answer.ok) {
      choose(answer.value.id);
      location.hash = address.watch;
    }
    return answer;
  };
  return (
    <>
      {count > 0 && <h2 class="set-up">{words.newKiln}</h2>}
      <PlaceStep
        listen={(place) => {
          setPicks([]);
          hearing.listen(place);
        }}
      />
      {hearing.refusal !== null && <p class="refusal">{hearing.refusal}</p>}
      {hearing.ear !== null && <EarStep ear={hearing.ear} picks={picks} pick={setPicks} />}
      {picks.length > 0 && (
        <section class="begin-step">
          <h2>{words.steps.kiln}</h2>
          <label class="detail wide">
            <span>{words.name}</span>
            <input type="text" maxLength={60} value={name} onInput={(event) => setName(event.currentTarget.value)} />
          </label>
          <Either<NewKiln['heat']> label={words.heat} options={words.heats} chosen={heat} choose={setHeat} />
          <Either<NewKiln['closure']>
            label={words.closure}
            options={words.closures}
            chosen={closure}
            choose={setClosure}
          />
          <p class="go">
            <button
              type="button"
              class="main-deed"
              disabled={missing !== null || isSending}
              onClick={() => press(save())}
            >
              {words.save}
            </button>
            <span class="quiet">{missing ?? (places?.ok ? words.writtenTo(places.value.file) : '')}</span>
          </p>
          <p class="refusal" role="status">
            {refusal ?? ''}
          </p>
        </section>
      )}
    </>
  );
}
