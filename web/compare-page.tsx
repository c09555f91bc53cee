/** Two to six firings on one chart, laid over each other by their start, a temperature of the climb, or their peak. */
import { useMemo, useState } from 'preact/hooks';
import type { Curve, FiringDetail } from '../daemon/wire/live-messages.ts';
import { type Answer, api } from './api.ts';
import { CompareSheet } from './charts.tsx';
import { type Alignment, aligned, type Compared, rulingStretches } from './compare.ts';
import { celsius, dateOf, timeNear } from './format.ts';
import { figuresOf } from './past-panels.tsx';
import { compare as words } from './record-wording.ts';
import { address } from './route.ts';
import type { Theme } from './theme.ts';
import { useAnswer } from './use-answer.ts';
import { firings as firingWords } from './wording.ts';

const POINTS = 1200;
const USUAL_C = 500;

interface Asked {
  readonly detail: FiringDetail;
  readonly curve: Curve;
}

async function askAll(ids: readonly string[]): Promise<Answer<readonly Asked[]>> {
  const all: Asked[] = [];
  for (const id of ids) {
    const [detail, curve] = await Promise.all([api.firing(id), api.curve(id, POINTS)]);
    if (!detail.ok) return detail;
    if (!curve.ok) return curve;
    all.push({ detail: detail.value, curve: curve.value });
  }
  return { ok: true, value: all };
}

interface ComparePageProps {
  readonly ids: readonly string[];
  readonly theme: Theme;
}

export function ComparePage({ ids, theme }: ComparePageProps) {
  const isEnough = ids.length >= 2 && ids.length <= 6;
  const answer = useAnswer(ids.join(' '), () => askAll(isEnough ? ids : []));
  return (
    <div class="sheet firing" aria-busy={answer === null}>
      <p>
        <a class="back" href={address.firings}>
          {firingWords.back}
        </a>
      </p>
      <h1>{words.title}</h1>
      {!isEnough && <p class="lead">{words.tooFew}</p>}
      {answer?.ok === false && <p class="refusal">{answer.sentence}</p>}
      {isEnough && answer?.ok && <Comparison all={answer.value} theme={theme} />}
    </div>
  );
}

type CompareReach = 'whole' | 'near';
const reaches: readonly CompareReach[] = ['near', 'whole'];
/** The last of the climb, the hold and the first of the fall: there they differ. Ours. */
const NEAR_H = 1;

interface ComparisonProps {
  readonly all: readonly Asked[];
  readonly theme: Theme;
}

function Comparison({ all, theme }: ComparisonProps) {
  const [by, setBy] = useState<Alignment['by']>('start');
  const [atC, setAtC] = useState(USUAL_C);
  const [reach, setReach] = useState<CompareReach>('whole');
  const aroundH = reach === 'near' && by !== 'start' ? NEAR_H : null;
  const nameOf = ({ detail }: Asked): string =>
    `${detail.scheduleName ?? firingWords.noPlan}, ${detail.kilnName}, ${dateOf(detail.startedAtMs, detail.utcOffsetMinutes)}`;
  const { drawn, missing } = useMemo(() => {
    const alignment: Alignment = by === 'temperature' ? { by, celsius: atC } : { by };
    const laid = all.map((one) => ({
      name: nameOf(one),
      firing: aligned(one.detail.id, nameOf(one), rulingStretches(one.curve, one.detail.rulingSensor), alignment),
    }));
    return {
      drawn: laid.flatMap(({ firing }): Compared[] => (firing === null ? [] : [firing])),
      missing: laid.filter(({ firing }) => firing === null).map(({ name }) => name),
    };
  }, [all, by, atC]);
  return (
    <>
      <form class="search-form" onSubmit={(event) => event.preventDefault()}>
        <label>
          <span>{words.align}</span>
          <select value={by} onChange={(event) => setBy(event.currentTarget.value as Alignment['by'])}>
            <option value="start">{words.start}</option>
            <option value="temperature">{words.temperature}</option>
            <option value="peak">{words.peak}</option>
          </select>
        </label>
        {by === 'temperature' && (
          <label>
            <span>{words.at(celsius(atC))}</span>
            <input
              type="range"
              min={50}
              max={900}
              step={10}
              value={atC}
              onInput={(event) => setAtC(Number(event.currentTarget.value))}
            />
          </label>
        )}
      </form>
      <section class="curve curve-past" aria-label={words.chart}>
        {by !== 'start' && (
          <div class="curve-head">
            <fieldset class="reach" aria-label={words.reach}>
              {reaches.map((one) => (
                <button key={one} type="button" aria-pressed={one === reach} onClick={() => setReach(one)}>
                  {words[one]}
                </button>
              ))}
            </fieldset>
          </div>
        )}
        <CompareSheet firings={drawn} aroundH={aroundH} theme={theme} label={words.chart} />
      </section>
      <ol class="compared">
        {drawn.map(({ id, name }, index) => (
          <li key={id}>
            <svg viewBox="0 0 40 8" aria-hidden="true" focusable="false">
              <path class={`stroke stroke-${index}`} d="M0 4H40" />
            </svg>
            <a href={address.firing(id)}>{name}</a>
          </li>
        ))}
      </ol>
      {missing.map((name) => (
        <p key={name} class="quiet">
          {words.never(name)}
        </p>
      ))}
      <SideBySide all={all} />
    </>
  );
}

/** The figures of each record in one table: a row for each that any of them has. */
function SideBySide({ all }: Pick<ComparisonProps, 'all'>) {
  const columns = all.map(({ detail }) => ({
    detail,
    rows: figuresOf(detail, (atMs) => timeNear(atMs, detail.startedAtMs, detail.utcOffsetMinutes)),
  }));
  // The order of whichever has most to tell.
  const rows = columns.map((column) => column.rows).sort((a, b) => b.length - a.length);
  const labels = [...new Set(rows.flat().map(({ label }) => label))];
  if (labels.length === 0) return null;
  return (
    <>
      <h2>{words.figures}</h2>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: what can be pushed sideways must be reached by the keyboard. */}
      <section class="side-by-side" aria-label={words.figures} tabIndex={0}>
        <table>
          <thead>
            <tr>
              <td />
              {columns.map(({ detail }) => (
                <th key={detail.id} scope="col">
                  {detail.scheduleName ?? firingWords.noPlan}
                  <span class="small">
                    {detail.kilnName}, {dateOf(detail.startedAtMs, detail.utcOffsetMinutes)}
                  </span>
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {labels.map((label) => (
              <tr key={label}>
                <th scope="row">{label}</th>
                {columns.map(({ detail, rows }) => (
                  <td key={detail.id}>{rows.find((row) => row.label === label)?.value ?? '–'}</td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </>
  );
}
