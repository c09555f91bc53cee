/** Curves of several firings over each other; told apart by ink, stroke and the names below. */
import { Chart, type ChartDataset, LinearScale, LineController, LineElement, type Point, PointElement } from 'chart.js';
import { useEffect, useRef } from 'preact/hooks';
import type { Compared } from './compare.ts';
import { type CurveInk, readInk, sensorDash, sensorInk } from './curve-ink.ts';
import { degrees } from './format.ts';
import type { Theme } from './theme.ts';

Chart.register(LineController, LineElement, PointElement, LinearScale);

type Line = ChartDataset<'line', Point[]>;

interface CompareChartProps {
  readonly firings: readonly Compared[];
  readonly aroundH: number | null;
  readonly theme: Theme;
  readonly label: string;
}

function lineOf({ points }: Compared, index: number, ink: CurveInk): Line {
  return {
    data: points.map(([hours, celsius]) => ({ x: hours, y: celsius ?? Number.NaN })),
    borderColor: sensorInk(ink, index % 3),
    borderWidth: index < 3 ? 2.5 : 1.5,
    borderDash: sensorDash(index),
  };
}

/** What lies outside is left out, so that the upright axis fits what is seen. */
function shown(firings: readonly Compared[], aroundH: number | null): readonly Compared[] {
  if (aroundH === null) return firings;
  return firings.map((firing) => ({
    ...firing,
    points: firing.points.filter(([hours]) => Math.abs(hours) <= aroundH),
  }));
}

function hourTick(value: number | string, isNear: boolean): string {
  const hours = Number(value);
  if (isNear) return `${Math.round(hours * 60)} min`.replace('-', '−');
  const sign = hours < 0 ? '−' : '';
  return `${sign}${Math.round(Math.abs(hours) * 10) / 10} h`;
}

function draw(canvas: HTMLCanvasElement, firings: readonly Compared[], aroundH: number | null): Chart<'line', Point[]> {
  const ink = readInk(canvas);
  const font = { family: ink.font, size: 13 };
  const ticks = { color: ink.quiet, font };
  return new Chart<'line', Point[]>(canvas, {
    type: 'line',
    data: { datasets: firings.map((firing, index) => lineOf(firing, index, ink)) },
    options: {
      animation: false,
      parsing: false,
      normalized: true,
      responsive: true,
      maintainAspectRatio: false,
      events: [],
      elements: { point: { radius: 0 }, line: { tension: 0, borderJoinStyle: 'round' } },
      scales: {
        x: {
          type: 'linear',
          ...(aroundH !== null && { min: -aroundH, max: aroundH }),
          grid: { color: ink.rule },
          ticks: {
            ...ticks,
            maxRotation: 0,
            ...(aroundH !== null && { stepSize: aroundH / 4 }),
            callback: (value) => hourTick(value, aroundH !== null),
          },
        },
        y: {
          type: 'linear',
          grid: { color: ink.rule },
          ticks: { ...ticks, callback: (value) => `${degrees(Number(value))}°` },
        },
      },
    },
  });
}

export function CompareChart({ firings, aroundH, theme, label }: CompareChartProps) {
  const canvas = useRef<HTMLCanvasElement | null>(null);
  useEffect(() => {
    if (canvas.current === null) return;
    const chart = draw(canvas.current, shown(firings, aroundH), aroundH);
    return () => chart.destroy();
  }, [firings, aroundH, theme]);
  return (
    <div class="curve-sheet">
      <canvas ref={canvas} role="img" aria-label={label} />
    </div>
  );
}
