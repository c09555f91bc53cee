/** The curve on Watch, how much of it is shown, and the same in words. */
import { useMemo, useState } from 'preact/hooks';
import { CurveChart } from './curve-chart.tsx';
import { CurveTable } from './curve-table.tsx';
import { type CurveView, curveOfWatch, type Reach } from './curve-view.ts';
import type { Dashboard, KilnView } from './dashboard-state.ts';
import { celsius } from './format.ts';
import { recall, remember } from './keepsakes.ts';
import { address } from './route.ts';
import type { Theme } from './theme.ts';
import { sentenceOf } from './title.ts';
import { unit } from './unit.ts';
import { watch } from './wording.ts';

interface CurvePanelProps {
  readonly dashboard: Dashboard;
  readonly kiln: KilnView;
  readonly isLive: boolean;
  readonly theme: Theme;
}

const reaches: readonly Reach[] = ['near', 'whole'];

export function CurvePanel({ dashboard, kiln, isLive, theme }: CurvePanelProps) {
  const [reach, setReach] = useState<Reach>(recall('reach') === 'whole' ? 'whole' : 'near');
  const { utcOffsetMinutes, mayCommand } = dashboard.snapshot;
  const nowMs = dashboard.atMs;
  const view = useMemo(
    () => (kiln.now.firing === null ? null : curveOfWatch(kiln, { nowMs, utcOffsetMinutes, reach, isLive })),
    [kiln, nowMs, utcOffsetMinutes, reach, isLive],
  );
  if (view === null) {
    return (
      <section class="curve curve-empty">
        <p>{watch.emptyCurve}</p>
        {mayCommand && (
          <p>
            <a class="step" href={address.begin}>
              {watch.emptyCurveNext}
            </a>
          </p>
        )}
      </section>
    );
  }
  return (
    <section class="curve" aria-busy={!kiln.history.isWhole}>
      <div class="curve-head">
        <AxisNote view={view} />
        <fieldset class="reach" aria-label={watch.curveReach}>
          {reaches.map((one) => (
            <button
              key={one}
              type="button"
              aria-pressed={one === reach}
              onClick={() => {
                remember('reach', one);
                setReach(one);
              }}
            >
              {watch[one]}
            </button>
          ))}
        </fieldset>
      </div>
      <CurveChart view={view} theme={theme} label={sentenceOf(kiln)} />
      <CurveTable view={view} />
    </section>
  );
}

/** A vertical axis that does not begin at nought says so. */
export function AxisNote({ view }: { readonly view: CurveView }) {
  return <p class="axis-note">{view.lowC === 0 ? `°${unit()}` : watch.axisFrom(celsius(view.lowC))}</p>;
}
