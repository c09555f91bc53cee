/** This screen itself: its bell, its voice, whether it stays lit, how bright, which degrees, who presses. */
import { BellTest } from './bell-test.tsx';
import type { Dashboard, KilnView } from './dashboard-state.ts';
import { type Device, useDevice } from './device.ts';
import { timeOfDay, zoneName } from './format.ts';
import { NameField } from './name-field.tsx';
import type { Theme } from './theme.ts';
import { type Unit, unit } from './unit.ts';
import { chooseUnit, useUnit } from './use-unit.ts';
import { sound as soundWords, theme as themeWords, screen as words } from './wording.ts';

interface ScreenPageProps {
  readonly device: Device;
  readonly dashboard: Dashboard;
  readonly kiln: KilnView | undefined;
  readonly theme: Theme;
  turnTheme(): void;
}

const units: readonly Unit[] = ['C', 'F'];

export function ScreenPage({ device, dashboard, kiln, theme, turnTheme }: ScreenPageProps) {
  useDevice(device);
  useUnit();
  const state = device.sound.state();
  const install = device.installing.state();
  const { utcOffsetMinutes } = dashboard.snapshot;
  return (
    <div class="sheet screen">
      <h1>{words.title}</h1>
      <section>
        <h2>{soundWords.title}</h2>
        <BellTest
          device={device}
          dashboard={dashboard}
          firing={kiln?.now.firing?.id ?? null}
          kilnName={kiln?.now.name ?? ''}
        />
        <p>
          {state === 'quiet' ? (
            <button type="button" onClick={() => void device.sound.start()}>
              {soundWords.beLoud}
            </button>
          ) : (
            <button type="button" class="far" onClick={() => device.sound.quieten()}>
              {soundWords.beQuiet}
            </button>
          )}
        </p>
      </section>
      <section>
        <h2>{words.wake}</h2>
        <p>{words.wakeState[device.wake.state()]}</p>
        {(device.wake.state() === 'not-held' || device.wake.state() === 'refused') && (
          <p>
            <button type="button" onClick={() => void device.wake.ask()}>
              {words.keepLit}
            </button>
          </p>
        )}
      </section>
      {install === 'insecure' ? (
        <section>
          <h2>{words.insecureTitle}</h2>
          <p>{words.insecure}</p>
        </section>
      ) : (
        <section>
          <h2>{words.install}</h2>
          <p>{words.installState[install]}</p>
          {install === 'asks' && (
            <p>
              <button type="button" onClick={() => void device.installing.ask()}>
                {words.installAsk}
              </button>
            </p>
          )}
        </section>
      )}
      <section>
        <h2>{words.brightness}</h2>
        <fieldset class="either" aria-label={words.brightness}>
          {(['light', 'dark'] as const).map((one) => (
            <button key={one} type="button" aria-pressed={theme === one} onClick={() => theme !== one && turnTheme()}>
              {themeWords[one]}
            </button>
          ))}
        </fieldset>
      </section>
      <section>
        <h2>{words.unit}</h2>
        <fieldset class="either" aria-label={words.unit}>
          {units.map((one) => (
            <button key={one} type="button" aria-pressed={unit() === one} onClick={() => chooseUnit(one)}>
              °{one}
            </button>
          ))}
        </fieldset>
        <p class="quiet">{words.unitNote}</p>
      </section>
      <section>
        <h2>{words.clock}</h2>
        <p>{words.zone(zoneName(utcOffsetMinutes), timeOfDay(dashboard.atMs, utcOffsetMinutes))}</p>
      </section>
      <section>
        <h2>{words.name}</h2>
        <NameField />
      </section>
    </div>
  );
}
