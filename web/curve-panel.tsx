/** The curve on Watch, how much of it is shown, and the same in words. */
import { useMemo, useRef, useState } from 'preact/hooks';
import { CurveSheet, EmptySheet } from './charts.tsx';
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
  /** The daemon's own curve is on its way; what came live is drawn meanwhile only if it was drawn before. */
  readonly isComing: boolean;
  readonly theme: Theme;
}

const reaches: readonly Reach[] = ['near', 'whole'];

export function CurvePanel({ dashboard, kiln, isLive, isComing, theme }: CurvePanelProps) {
  const [reach, setReach] = useState<Reach>(recall('reach') === 'whole' ? 'whole' : 'near');
  const { utcOffsetMinutes, mayCommand } = dashboard.snapshot;
  const nowMs = dashboard.atMs;
  // On a slow phone a chart costs more than all the rest: it is drawn once, with everything on it.
  const hasBegun = useRef(false);
  hasBegun.current ||= !isComing;
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
      {hasBegun.current ? <CurveSheet view={view} theme={theme} label={sentenceOf(kiln)} /> : <EmptySheet />}
      <CurveTable view={view} />
    </section>
  );
}

/** A vertical axis that does not begin at nought says so. */
export function AxisNote({ view }: { readonly view: CurveView }) {
  return <p class="axis-note">{view.lowC === 0 ? `°${unit()}` : watch.axisFrom(celsius(view.lowC))}</p>;
}
