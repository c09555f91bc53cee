/** The frame around the screens: what is heard, how live it is, which screen, which kiln. */
import { useEffect, useState } from 'preact/hooks';
import { BeginPage } from './begin-page.tsx';
import { ComparePage } from './compare-page.tsx';
import { type Dashboard, type KilnView, statedAgeS } from './dashboard-state.ts';
import type { Device } from './device.ts';
import { FiringPage } from './firing-page.tsx';
import { FiringsPage } from './firings-page.tsx';
import { recall, remember } from './keepsakes.ts';
import { KilnsPage } from './kilns-page.tsx';
import { judgeLiveness, type Liveness } from './liveness.ts';
import { ProofPage } from './proof-page.tsx';
import { readRoute } from './route.ts';
import { ScreenPage } from './screen-page.tsx';
import { SpokenAlerts } from './spoken-alerts.tsx';
import type { Store } from './store.ts';
import { useTheme } from './theme.ts';
import { pageTitle } from './title.ts';
import { TopBar } from './top-bar.tsx';
import { useHeard } from './use-heard.ts';
import { useUnit } from './use-unit.ts';
import { WatchPage } from './watch-page.tsx';
import { live, simulatedBand } from './wording.ts';

interface AppProps {
  readonly store: Store;
  readonly device: Device;
  heardMs(): number | null;
  nowMs(): number;
}

function useRoute() {
  const [hash, setHash] = useState(location.hash);
  useEffect(() => {
    const follow = (): void => {
      setHash(location.hash);
      window.scrollTo(0, 0);
    };
    window.addEventListener('hashchange', follow);
    return () => window.removeEventListener('hashchange', follow);
  }, []);
  return readRoute(hash);
}

/** The kiln that was tapped, else one that calls, else one that fires, else the first; it stays until another is tapped. */
function useChosenKiln(dashboard: Dashboard | null): [KilnView | undefined, (id: string) => void] {
  const [id, setId] = useState<string | null>(recall('kiln'));
  const kilns = dashboard?.kilns ?? [];
  const found = kilns.find((view) => view.now.id === id);
  const fallback =
    kilns.find((view) => view.now.alerts.some((alert) => alert.life === 'calling')) ??
    kilns.find((view) => view.now.firing !== null) ??
    kilns[0];
  const fallbackId = found === undefined ? fallback?.now.id : undefined;
  useEffect(() => {
    if (fallbackId !== undefined) setId(fallbackId);
  }, [fallbackId]);
  const choose = (chosen: string): void => {
    remember('kiln', chosen);
    setId(chosen);
  };
  return [found ?? fallback, choose];
}

export function App({ store, device, heardMs, nowMs }: AppProps) {
  useUnit();
  const dashboard = useHeard(store);
  const route = useRoute();
  const { theme, turn } = useTheme();
  const [kiln, choose] = useChosenKiln(dashboard);
  const now = nowMs();
  const livenessOf = (view: KilnView): Liveness =>
    judgeLiveness(
      {
        heardMs: heardMs(),
        ageS: statedAgeS(dashboard?.ages ?? {}, view.now.id, view.now.rulingSensor),
        staleAfterS: view.now.staleAfterS,
      },
      now,
    );
  const liveness = kiln === undefined ? undefined : livenessOf(kiln);
  const isFirstStart = dashboard?.kilns.length === 0 && route.screen === 'watch';
  const title = pageTitle(dashboard, kiln, liveness);
  useEffect(() => {
    document.title = title;
  }, [title]);

  return (
    <>
      <SpokenAlerts dashboard={dashboard} isNotLive={liveness?.kind === 'not-live'} />
      <header>
        <TopBar screen={isFirstStart ? 'kilns' : route.screen} device={device} />
        {dashboard?.snapshot.simulated != null && (
          <p class="simulated">{simulatedBand(dashboard.snapshot.simulated.speed)}</p>
        )}
        {dashboard !== null && dashboard.snapshot.v !== 1 && <p class="trouble">{live.otherVersion}</p>}
      </header>
      <main>
        {dashboard === null ? (
          <h1 class="sentence">{now > 10_000 && heardMs() === null ? live.sentenceNeverLive : live.waiting}</h1>
        ) : route.screen === 'begin' ? (
          <BeginPage dashboard={dashboard} device={device} chosen={kiln?.now.id ?? null} choose={choose} />
        ) : route.screen === 'kilns' ? (
          <KilnsPage dashboard={dashboard} choose={choose} />
        ) : route.screen === 'screen' ? (
          <ScreenPage device={device} dashboard={dashboard} kiln={kiln} theme={theme} turnTheme={turn} />
        ) : route.screen === 'firings' && route.firing !== null ? (
          <FiringPage id={route.firing} dashboard={dashboard} theme={theme} />
        ) : route.screen === 'compare' ? (
          <ComparePage ids={route.compared ?? []} theme={theme} />
        ) : route.screen === 'proof' ? (
          <ProofPage firing={route.firing} dashboard={dashboard} />
        ) : route.screen === 'firings' ? (
          <FiringsPage dashboard={dashboard} />
        ) : kiln === undefined || liveness === undefined ? (
          <KilnsPage dashboard={dashboard} choose={choose} />
        ) : (
          <WatchPage
            dashboard={dashboard}
            device={device}
            kiln={kiln}
            liveness={liveness}
            livenessOf={livenessOf}
            choose={choose}
            store={store}
            theme={theme}
          />
        )}
      </main>
    </>
  );
}
