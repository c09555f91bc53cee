/** Choose a plan and begin, give a plan late, end a firing: only at the kiln's own computer. */
import { useState } from 'preact/hooks';
import { type Answer, api } from './api.ts';
import type { Dashboard, KilnView } from './dashboard-state.ts';
import { celsius, timeNear } from './format.ts';
import { NameField } from './name-field.tsx';
import { nameAtTheBench } from './person.ts';
import { holdsOfPlan, peakOf, sketchOfPlan } from './plan-sketch.ts';
import { address } from './route.ts';
import { Sketch } from './sketch.tsx';
import { watch, begin as words } from './wording.ts';

interface BeginPageProps {
  readonly dashboard: Dashboard;
  readonly chosen: string | null;
  choose(id: string): void;
}

export function BeginPage({ dashboard, chosen, choose }: BeginPageProps) {
  const { kilns, snapshot } = dashboard;
  const kiln = kilns.find((view) => view.now.id === chosen) ?? kilns[0];
  if (!snapshot.mayCommand || kiln === undefined) {
    return (
      <div class="sheet">
        <h1>{words.title}</h1>
        <p class="lead">{kiln === undefined ? watch.noKiln : words.elsewhere}</p>
      </div>
    );
  }
  return (
    <div class="sheet begin">
      <h1>{words.title}</h1>
      {kilns.length > 1 && (
        <fieldset class="which">
          <legend>{words.whichKiln}</legend>
          {kilns.map(({ now }) => (
            <label key={now.id} class="choice">
              <input type="radio" name="kiln" checked={now.id === kiln.now.id} onChange={() => choose(now.id)} />
              <b>{now.name}</b>
            </label>
          ))}
        </fieldset>
      )}
      <KilnDeeds key={`${kiln.now.id} ${kiln.now.firing?.id ?? ''}`} dashboard={dashboard} kiln={kiln} />
    </div>
  );
}

function KilnDeeds({ dashboard, kiln }: { readonly dashboard: Dashboard; readonly kiln: KilnView }) {
  const [plan, setPlan] = useState<string | null | undefined>(undefined);
  const [refusal, setRefusal] = useState<string | null>(null);
  const [isSending, setSending] = useState(false);
  const { firing, name } = kiln.now;
  const { schedules, utcOffsetMinutes } = dashboard.snapshot;

  const press = async (sent: Promise<Answer<unknown>>): Promise<void> => {
    setSending(true);
    const answer = await sent;
    setSending(false);
    setRefusal(answer.ok ? null : answer.sentence);
    if (answer.ok) location.hash = address.watch;
  };
  const isReady = plan !== undefined && !(firing !== null && plan === null);
  const go = (): void => {
    if (plan === undefined) return;
    if (firing === null) void press(api.begin(kiln.now.id, plan, nameAtTheBench()));
    else if (plan !== null) void press(api.plan(firing.id, plan, nameAtTheBench()));
  };
  return (
    <>
      {firing !== null && (
        <p class="lead">
          {words.isOn(
            name,
            timeNear(firing.startedAtMs, dashboard.atMs, utcOffsetMinutes),
            firing.schedule?.name ?? null,
          )}
        </p>
      )}
      <fieldset class="plans">
        <legend>{words.whichPlan}</legend>
        {schedules.length === 0 && <p class="quiet">{words.noPlans}</p>}
        {schedules.map(({ key, schedule }) => (
          <label key={key} class="choice plan-choice">
            <input type="radio" name="plan" checked={plan === key} onChange={() => setPlan(key)} />
            <Sketch points={sketchOfPlan(schedule)} isPlan />
            <span>
              <b>{schedule.name}</b>
              <span class="small">
                {[words.peak(celsius(peakOf(schedule))), holdsOfPlan(schedule)]
                  .filter((part) => part !== '')
                  .join(', ')}
              </span>
              {schedule.source !== undefined && <span class="small plan-source">{schedule.source}</span>}
            </span>
          </label>
        ))}
        {firing === null && (
          <label class="choice plan-choice">
            <input type="radio" name="plan" checked={plan === null} onChange={() => setPlan(null)} />
            <Sketch points={[]} />
            <span>
              <b>{words.withoutPlan}</b>
              <span class="small">{words.withoutPlanNote}</span>
            </span>
          </label>
        )}
      </fieldset>
      <NameField />
      <p class="go">
        <button type="button" class="main-deed" disabled={!isReady || isSending} onClick={go}>
          {firing === null ? words.begin(name) : words.givePlan(name)}
        </button>
        {plan === undefined && <span class="quiet">{firing === null ? words.chooseFirst : words.choosePlan}</span>}
      </p>
      <p class="refusal" role="status">
        {refusal ?? ''}
      </p>
      {firing !== null && <EndDeed end={() => press(api.end(firing.id, nameAtTheBench()))} isSending={isSending} />}
    </>
  );
}

/** Far from the other buttons, and asked twice. */
function EndDeed({ end, isSending }: { end(): Promise<void>; readonly isSending: boolean }) {
  const [isAsked, setAsked] = useState(false);
  return (
    <section class="end">
      <p class="quiet">{words.endNote}</p>
      {isAsked ? (
        <p class="go">
          <button type="button" onClick={() => setAsked(false)}>
            {words.endKeep}
          </button>
          <button type="button" disabled={isSending} onClick={() => void end()}>
            {words.endSure}
          </button>
        </p>
      ) : (
        <button type="button" onClick={() => setAsked(true)}>
          {words.end}
        </button>
      )}
    </section>
  );
}
