/** From a cold kiln to a lit one, step by step; a plan given late; the end. Only at the kiln's own computer. */
import { useState } from 'preact/hooks';
import { type Answer, api } from './api.ts';
import { BellTest, bellHeardMs } from './bell-test.tsx';
import type { Dashboard, KilnView } from './dashboard-state.ts';
import { type Device, useDevice } from './device.ts';
import { timeNear } from './format.ts';
import { HandsPanel } from './hands-panel.tsx';
import { type LightingList, ListPanel, useBeforeLighting } from './list-panel.tsx';
import { NameField } from './name-field.tsx';
import { nameAtTheBench } from './person.ts';
import { PlanChoice } from './plan-choice.tsx';
import { address } from './route.ts';
import { watch, begin as words } from './wording.ts';

interface BeginPageProps {
  readonly dashboard: Dashboard;
  readonly device: Device;
  readonly chosen: string | null;
  choose(id: string): void;
}

export function BeginPage({ dashboard, device, chosen, choose }: BeginPageProps) {
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
        <Step name={words.steps.kiln}>
          <fieldset class="which" aria-label={words.whichKiln}>
            {kilns.map(({ now }) => (
              <label key={now.id} class="choice">
                <input type="radio" name="kiln" checked={now.id === kiln.now.id} onChange={() => choose(now.id)} />
                <b>{now.name}</b>
              </label>
            ))}
          </fieldset>
        </Step>
      )}
      <KilnDeeds
        key={`${kiln.now.id} ${kiln.now.firing?.id ?? ''}`}
        dashboard={dashboard}
        device={device}
        kiln={kiln}
      />
    </div>
  );
}

function Step({ name, children }: { readonly name: string; readonly children: preact.ComponentChildren }) {
  return (
    <section class="begin-step">
      <h2>{name}</h2>
      {children}
    </section>
  );
}

interface KilnDeedsProps {
  readonly dashboard: Dashboard;
  readonly device: Device;
  readonly kiln: KilnView;
}

function KilnDeeds({ dashboard, device, kiln }: KilnDeedsProps) {
  useDevice(device);
  const [plan, setPlan] = useState<string | null | undefined>(undefined);
  const [refusal, setRefusal] = useState<string | null>(null);
  const [isSending, setSending] = useState(false);
  const { firing, name, id } = kiln.now;
  const { schedules, utcOffsetMinutes } = dashboard.snapshot;
  const list = useBeforeLighting(id);

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
    if (firing === null) void press(beginWith(id, plan, list, bellHeardMs(dashboard.atMs) !== null));
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
      {firing === null && <ListPanel kiln={kiln} list={list} />}
      <Step name={words.steps.plan}>
        <PlanChoice schedules={schedules} plan={plan} mayBeNone={firing === null} choose={setPlan} />
      </Step>
      {plan != null && (
        <Step name={words.steps.hands}>
          <HandsPanel kiln={id} plan={plan} nowMs={dashboard.atMs} utcOffsetMinutes={utcOffsetMinutes} />
        </Step>
      )}
      {firing === null && (
        <Step name={words.steps.bell}>
          <p class="quiet">{words.bellNote}</p>
          <BellTest device={device} dashboard={dashboard} firing={null} kilnName={name} />
        </Step>
      )}
      <section class="begin-step">
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
      </section>
      {firing !== null && <EndDeed end={() => press(api.end(firing.id, nameAtTheBench()))} isSending={isSending} />}
    </>
  );
}

/** The firing first; then what was ticked and heard before it is filed with it. */
async function beginWith(
  kiln: string,
  plan: string | null,
  list: LightingList,
  isBellHeard: boolean,
): Promise<Answer<unknown>> {
  const by = nameAtTheBench();
  const begun = await api.begin(kiln, plan, by);
  if (!begun.ok) return begun;
  const { id } = begun.value;
  const filed = list.items.length === 0 ? begun : await api.list(id, list.items, list.roomC, by);
  if (!filed.ok || !isBellHeard) return filed;
  return api.act(id, 'bell heard', null, by);
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
