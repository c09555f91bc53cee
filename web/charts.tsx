/** The two charts, and what stands in their place while the library that draws them is on its way: half of all the page's code. */
import { useEffect } from 'preact/hooks';
import type { Compared } from './compare.ts';
import type { CurveView } from './curve-view.ts';
import { latePart } from './late-part.ts';
import type { Theme } from './theme.ts';
import { charts as words } from './wording.ts';

const curveChart = latePart(() => import('./curve-chart.tsx'));
const compareChart = latePart(() => import('./compare-chart.tsx'));

interface CurveSheetProps {
  readonly view: CurveView;
  readonly theme: Theme;
  readonly label: string;
}

export function CurveSheet(props: CurveSheetProps) {
  const chart = curveChart.use();
  if (chart === 'missing') return <MissingSheet />;
  return chart === 'coming' ? <EmptySheet /> : <chart.CurveChart {...props} />;
}

interface CompareSheetProps {
  readonly firings: readonly Compared[];
  /** So many hours to each side of what they are laid over each other by; null for all of them. */
  readonly aroundH: number | null;
  readonly theme: Theme;
  readonly label: string;
}

export function CompareSheet(props: CompareSheetProps) {
  const chart = compareChart.use();
  if (chart === 'missing') return <MissingSheet />;
  return chart === 'coming' ? <EmptySheet /> : <chart.CompareChart {...props} />;
}

/** As high as the chart will be, so that nothing jumps as it comes. The library is called once this stands: the number was first. */
export function EmptySheet() {
  useEffect(curveChart.load, []);
  return <div class="curve-sheet" aria-busy="true" />;
}

function MissingSheet() {
  return <p class="trouble">{words.missing}</p>;
}
