/** The rest, for whoever steps nearer. */
import type { Dashboard, KilnView } from './dashboard-state.ts';
import { celsius, deviation, minutesOf, rate, timeNear } from './format.ts';
import { openWord, figures as words } from './wording.ts';

/** As long as a reading is taken for one of now, twice over. Ours. */
const CONTROLLER_LASTS_MS = 30_000;

interface FiguresPanelProps {
  readonly dashboard: Dashboard;
  readonly kiln: KilnView;
}

export function FiguresPanel({ dashboard, kiln }: FiguresPanelProps) {
  const rows = figuresOf(kiln, dashboard.atMs, dashboard.snapshot.utcOffsetMinutes);
  if (rows.length === 0) return null;
  return (
    <section class="figures" aria-label={words.title}>
      <dl>
        {rows.map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}

/** Only what can be said now: a row that would be empty is left out. */
function figuresOf({ now }: KilnView, nowMs: number, utcOffsetMinutes: number): [string, string][] {
  const rows: [string, string][] = [];
  const put = (name: string, value: string | null): void => {
    if (value !== null) rows.push([name, value]);
  };
  const time = (atMs: number | null): string | null => (atMs === null ? null : timeNear(atMs, nowMs, utcOffsetMinutes));
  const { position, forecast } = now;
  if (position !== null && now.firing !== null) {
    put(words.segment, position.segmentName === '' ? null : position.segmentName);
    put(words.rate, position.rateCPerH === null ? null : rate(position.rateCPerH));
    put(words.deviation, position.deviationC === null ? null : deviation(position.deviationC));
    if (position.holdS !== null && position.holdDoneS !== null) {
      put(words.clock, minutesOf(position.holdDoneS, position.holdS));
      put(words.inBand, position.holdInBandS === null ? null : minutesOf(position.holdInBandS, position.holdS));
    }
    put(words.target, forecast === null || forecast.targetAtMs === null ? null : time(forecast.targetAtMs));
    put(words.segmentEnds, time(position.segmentEndsAtMs));
    put(words.crack, time(position.crackAtMs));
    put(words.unload, time(position.unloadAtMs));
    put(words.planEnds, time(position.planEndsAtMs));
  }
  if (now.lidOpen !== null) put(openWord(now.closure), now.lidOpen ? words.open : words.shut);
  const said = now.controller;
  // What a controller said a while ago, it may no longer want.
  if (said !== null && nowMs - said.atMs < CONTROLLER_LASTS_MS) {
    put(words.wants, said.setpointC === null ? null : celsius(said.setpointC));
    put(words.gives, said.outputRatio === null ? null : `${Math.round(said.outputRatio * 100)} %`);
  }
  for (const { sensor, celsius: c, uncertaintyC, remark } of now.readings) {
    if (c !== null && uncertaintyC !== null && sensor === now.rulingSensor)
      put(words.howSure(sensor), `${celsius(c)} ± ${Math.ceil(uncertaintyC)}`);
    if (remark !== undefined) put(words.certificate(sensor), remark);
  }
  return rows;
}
