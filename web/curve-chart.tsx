/** The curve: Chart.js draws the lines and axes, `curve-drawing` all else. Nothing moves but the new point. */
import {
  Chart,
  type ChartConfiguration,
  type ChartDataset,
  LinearScale,
  LineController,
  LineElement,
  type Point,
  PointElement,
} from 'chart.js';
import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import { curveDrawing, type Drawn } from './curve-drawing.ts';
import { type CurveInk, readInk, sensorDash, sensorInk } from './curve-ink.ts';
import { type CurveView, roundStep } from './curve-view.ts';
import { hasStrip } from './deviation.ts';
import { STRIP_PX } from './deviation-strip.ts';
import { degrees, tickLabel, timeTicks } from './format.ts';
import type { Theme } from './theme.ts';
import type { Trace } from './trace.ts';

interface CurveChartProps {
  readonly view: CurveView;
  readonly theme: Theme;
  /** The curve in one sentence, for those who do not see it. */
  readonly label: string;
}

Chart.register(LineController, LineElement, PointElement, LinearScale);

type Line = ChartDataset<'line', Point[]>;

/** A break in the line: Chart.js leaves out a point that is no number. */
function pointsOf(trace: Trace): Point[] {
  return trace.map(({ atMs, celsius }) => ({ x: atMs, y: celsius ?? Number.NaN }));
}

function linesOf(view: CurveView, ink: CurveInk): Line[] {
  const plan: Line = {
    data: view.plan.map(({ atMs, celsius }) => ({ x: atMs, y: celsius })),
    borderColor: ink.plan,
    borderWidth: 1.5,
    borderDash: [6, 4],
    order: 2,
  };
  const sensors = view.traces.map(
    (trace, index): Line => ({
      data: pointsOf(trace.points),
      borderColor: sensorInk(ink, index),
      borderWidth: index === 0 ? 3 : 1.5,
      borderDash: sensorDash(index),
      // Smaller numbers are drawn later, over the others: the ruling sensor last of all.
      order: index === 0 ? 0 : 1,
    }),
  );
  return [plan, ...sensors];
}

/** One label for each so many pixels. */
const TICK_PX = 84;

type CurveConfig = ChartConfiguration<'line', Point[]>;

function emptyChart(current: () => Drawn): CurveConfig {
  return {
    type: 'line',
    data: { datasets: [] },
    plugins: [curveDrawing(current)],
    options: {
      animation: false,
      parsing: false,
      normalized: true,
      responsive: true,
      maintainAspectRatio: false,
      events: [],
      layout: { padding: { top: 26, right: 10 } },
      elements: { point: { radius: 0 }, line: { tension: 0, borderJoinStyle: 'round' } },
      scales: {
        x: {
          type: 'linear',
          border: { display: true },
          grid: { drawOnChartArea: false, tickLength: 5 },
          afterBuildTicks(axis) {
            const { fromMs, toMs, utcOffsetMinutes } = current().view;
            const most = Math.max(2, Math.floor(axis.chart.width / TICK_PX));
            axis.ticks = timeTicks(fromMs, toMs, utcOffsetMinutes, most).map((value) => ({ value }));
          },
          ticks: {
            callback: (value) => tickLabel(Number(value), current().view.utcOffsetMinutes),
            maxRotation: 0,
            autoSkip: false,
          },
        },
        y: {
          type: 'linear',
          border: { display: false },
          // The step is round and wide already: to measure every label for skipping costs a slow phone a frame.
          ticks: { callback: (value) => `${degrees(Number(value))}°`, padding: 6, autoSkip: false },
        },
      },
    },
  };
}

/** Brings a chart to the view, drawn already or not yet: lines, reach of the axes, inks. */
function bring(chart: Pick<CurveConfig, 'data' | 'options'>, { view, ink }: Drawn): void {
  chart.data.datasets = linesOf(view, ink);
  if (chart.options?.layout !== undefined) {
    chart.options.layout.padding = { top: 26, right: 10, bottom: hasStrip(view) ? STRIP_PX : 0 };
  }
  const { x, y } = chart.options?.scales ?? {};
  if (x === undefined || y === undefined) return;
  x.min = view.fromMs;
  x.max = view.toMs;
  y.min = view.lowC;
  y.max = view.highC;
  const font = { family: ink.font, size: 13 };
  Object.assign(x.ticks ?? {}, { color: ink.quiet, font });
  Object.assign(y.ticks ?? {}, { color: ink.quiet, font, stepSize: roundStep(view.highC - view.lowC) });
  x.border = { ...x.border, color: ink.quiet };
  x.grid = { ...x.grid, color: ink.quiet };
  y.grid = { ...y.grid, color: ink.rule };
}

export function CurveChart({ view, theme, label }: CurveChartProps) {
  const canvas = useRef<HTMLCanvasElement | null>(null);
  const chart = useRef<Chart<'line', Point[]> | null>(null);
  const drawn = useRef<Drawn | null>(null);
  const ink = useRef<{ readonly theme: Theme; readonly ink: CurveInk } | null>(null);

  // Drawn with the rest of the page, before it is shown: there is no moment with a number of now over a curve of before.
  useLayoutEffect(() => {
    if (canvas.current === null || document.visibilityState === 'hidden') return;
    // The style sheet is asked for its inks once for each brightness: asking it lays out the page.
    if (ink.current?.theme !== theme) ink.current = { theme, ink: readInk(canvas.current) };
    const next: Drawn = { view, ink: ink.current.ink };
    drawn.current = next;
    if (chart.current === null) {
      // Begun with all that it shows: an empty chart to be filled afterwards would be drawn twice.
      const config = emptyChart(() => drawn.current ?? next);
      bring(config, next);
      chart.current = new Chart(canvas.current, config);
      return;
    }
    bring(chart.current, next);
    chart.current.update('none');
  }, [view, theme]);
  useEffect(
    () => () => {
      chart.current?.destroy();
      chart.current = null;
    },
    [],
  );
  return (
    <div class="curve-sheet">
      <canvas ref={canvas} role="img" aria-label={label} />
    </div>
  );
}
