/** Watch, in the order of the eye: the sentence, the temperature, what comes next, the curve, the rest. */
import { useLayoutEffect, useState } from 'preact/hooks';
import { ActPanel } from './act-panel.tsx';
import { AlertList, PastAlerts } from './alert-list.tsx';
import { api } from './api.ts';
import { UntestedBell } from './bell-test.tsx';
import { CurvePanel } from './curve-panel.tsx';
import { DarkScreen } from './dark-screen.tsx';
import type { Dashboard, KilnView } from './dashboard-state.ts';
import type { Device } from './device.ts';
import { FiguresPanel } from './figures-panel.tsx';
import { timeNear } from './format.ts';
import { KilnStrip } from './kiln-strip.tsx';
import type { Liveness } from './liveness.ts';
import { NextPanel } from './next-panel.tsx';
import { address } from './route.ts';
import { wasBellHeard } from './standing-acts.ts';
import type { Store } from './store.ts';
import { SwitchedOffLines } from './switch-off.tsx';
import { TemperaturePanel } from './temperature-panel.tsx';
import type { Theme } from './theme.ts';
import { firstLine } from './title.ts';
import { live } from './wording.ts';

interface WatchPageProps {
  readonly dashboard: Dashboard;
  readonly device: Device;
  readonly kiln: KilnView;
  readonly liveness: Liveness;
  livenessOf(view: KilnView): Liveness;
  choose(id: string): void;
  readonly store: Store;
  readonly theme: Theme;
}

const HISTORY_POINTS = 1200;
const RETRY_MS = 5000;

/**
 * Fetches the daemon's own curve where the page has only what came live since it was opened.
 *
 * @returns true as long as the first answer is awaited
 */
function useWholeHistory(kiln: KilnView, store: Store): boolean {
  const id = kiln.now.id;
  const firing = kiln.now.firing?.id ?? null;
  const isMissing = firing !== null && !kiln.history.isWhole;
  const [refused, setRefused] = useState<string | null>(null);
  // Before the first chart is drawn: the curve is on its way meanwhile.
  useLayoutEffect(() => {
    if (firing === null || !isMissing) return;
    let isWanted = true;
    let timer: ReturnType<typeof setTimeout> | undefined;
    const fetchIt = async (): Promise<void> => {
      const answer = await api.curve(firing, HISTORY_POINTS);
      if (!isWanted) return;
      if (answer.ok) store.hear({ type: 'history', kiln: id, firing, curve: answer.value });
      else {
        setRefused(firing);
        timer = setTimeout(() => void fetchIt(), RETRY_MS);
      }
    };
    void fetchIt();
    return () => {
      isWanted = false;
      clearTimeout(timer);
    };
  }, [id, firing, isMissing, store]);
  return isMissing && refused !== firing;
}

export function WatchPage({ dashboard, device, kiln, liveness, livenessOf, choose, store, theme }: WatchPageProps) {
  const isCurveComing = useWholeHistory(kiln, store);
  const { utcOffsetMinutes } = dashboard.snapshot;
  const sentence =
    liveness.kind === 'not-live'
      ? live.sentenceNotLive(timeNear(dashboard.atMs, dashboard.atMs, utcOffsetMinutes))
      : firstLine(dashboard, kiln);
  const troubles = [...dashboard.troubles, ...kiln.now.troubles];
  const isBellUntested = kiln.now.firing !== null && kiln.history.isWhole && !wasBellHeard(kiln.history.acts);
  return (
    <div class="watch">
      {dashboard.kilns.length > 1 && (
        <KilnStrip kilns={dashboard.kilns} chosen={kiln.now.id} choose={choose} livenessOf={livenessOf} />
      )}
      <h1 class="sentence">{sentence}</h1>
      <SwitchedOffLines dashboard={dashboard} kiln={kiln} />
      <AlertList dashboard={dashboard} sentence={sentence} />
      <div class="glance">
        <TemperaturePanel
          kiln={kiln}
          liveness={liveness}
          utcOffsetMinutes={utcOffsetMinutes}
          isNamed={dashboard.kilns.length > 1 && !sentence.startsWith(kiln.now.name)}
        />
        <NextPanel
          kiln={kiln}
          nowMs={dashboard.atMs}
          utcOffsetMinutes={utcOffsetMinutes}
          isLive={liveness.kind !== 'not-live'}
        />
      </div>
      <PastAlerts dashboard={dashboard} />
      <div class="curve-place">
        {isBellUntested && <UntestedBell href={address.screen} />}
        {kiln.now.firing !== null && <DarkScreen device={device} />}
        {troubles.map((trouble) => (
          <p key={trouble} class="trouble">
            {trouble}
          </p>
        ))}
        <CurvePanel
          dashboard={dashboard}
          kiln={kiln}
          isLive={liveness.kind !== 'not-live'}
          isComing={isCurveComing}
          theme={theme}
        />
      </div>
      <ActPanel key={kiln.now.firing?.id ?? 'idle'} dashboard={dashboard} kiln={kiln} />
      <FiguresPanel dashboard={dashboard} kiln={kiln} />
    </div>
  );
}
