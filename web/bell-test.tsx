/** The bell is rung, heard and confirmed, before it is relied on (requirement A12). */
import { useState } from 'preact/hooks';
import { api } from './api.ts';
import type { Dashboard } from './dashboard-state.ts';
import type { Device } from './device.ts';
import { useDevice } from './device.ts';
import { timeOfDay } from './format.ts';
import { recall, remember } from './keepsakes.ts';
import { nameAtTheBench } from './person.ts';
import type { Ring } from './ring-plan.ts';
import { spoken, sound as words } from './wording.ts';

interface BellTestProps {
  readonly device: Device;
  readonly dashboard: Dashboard;
  /** The firing to file it with; null before one is lit: then it is kept on this screen until one begins. */
  readonly firing: string | null;
  readonly kilnName: string;
}

const tried: readonly Ring[] = ['now', 'call', 'soon'];
const APART_MS = 2600;
/** A test so old says little of the volume now. Ours. */
const GOOD_FOR_MS = 2 * 3_600_000;

/** When the bell was last heard on this screen, by the daemon's clock; null if that is too long ago to count. */
export function bellHeardMs(nowMs: number): number | null {
  const atMs = Number(recall('bell') ?? Number.NaN);
  return Number.isFinite(atMs) && nowMs - atMs <= GOOD_FOR_MS && atMs <= nowMs ? atMs : null;
}

export function BellTest({ device, dashboard, firing, kilnName }: BellTestProps) {
  useDevice(device);
  const [stage, setStage] = useState<'before' | 'rung' | 'silent' | 'heard'>(
    bellHeardMs(dashboard.atMs) !== null && firing === null ? 'heard' : 'before',
  );
  const [refusal, setRefusal] = useState<string | null>(null);
  const ring = async (): Promise<void> => {
    const state = await device.sound.start();
    void device.wake.ask();
    if (state !== 'on') {
      setStage('silent');
      return;
    }
    tried.forEach((kind, i) => {
      setTimeout(() => device.sound.ring(kind), i * APART_MS);
    });
    setTimeout(() => device.voice.say(spoken.test(kilnName)), tried.length * APART_MS);
    setStage('rung');
  };
  const confirm = async (): Promise<void> => {
    remember('bell', String(dashboard.atMs));
    if (firing !== null) {
      const answer = await api.act(firing, 'bell heard', null, nameAtTheBench());
      setRefusal(answer.ok ? null : answer.sentence);
      if (!answer.ok) return;
    }
    setStage('heard');
  };
  const { state } = device.sound;
  return (
    <div class="bell-test">
      <p>{words.state[state()]}</p>
      <p class="quiet">{words.voice[device.voice.state()]}</p>
      <p class="go">
        <button type="button" class="deed" onClick={() => void ring()}>
          {words.ring}
        </button>
        {stage === 'rung' && (
          <button type="button" class="deed main-deed" onClick={() => void confirm()}>
            {words.heard}
          </button>
        )}
      </p>
      <p role="status" class="said">
        {stage === 'rung' && words.hear}
        {stage === 'silent' && words.notHeard}
        {stage === 'heard' && heardWords(dashboard, firing)}
      </p>
      {refusal !== null && <p class="refusal">{refusal}</p>}
    </div>
  );
}

function heardWords({ atMs, snapshot }: Dashboard, firing: string | null): string {
  const said = words.confirmed(nameAtTheBench(), timeOfDay(bellHeardMs(atMs) ?? atMs, snapshot.utcOffsetMinutes));
  return firing === null ? said : `${said} ${words.filed}`;
}

/** In the top line, always: whether this screen can call. */
export function SoundWord({ device }: { readonly device: Device }) {
  useDevice(device);
  const state = device.sound.state();
  const word = state === 'absent' ? words.absent : words[state];
  if (state === 'absent') return <span class="sound-word">{word}</span>;
  if (state === 'on') return <span class="sound-word quiet">{word}</span>;
  return (
    <button
      type="button"
      class={`sound-word sound-${state}`}
      onClick={() => {
        void device.sound.start().then((now) => {
          if (now === 'on') device.sound.ring('note');
        });
        void device.wake.ask();
      }}
    >
      {state === 'off' ? (
        <>
          <span class="long">{word}</span>
          <span class="short">{words.offShort}</span>
        </>
      ) : (
        word
      )}
    </button>
  );
}

/** A firing whose bell nobody has heard says so as long as it lasts. */
export function UntestedBell({ href }: { readonly href: string }) {
  return (
    <p class="trouble untested">
      {words.untested} <a href={href}>{words.test}</a>
    </p>
  );
}
