/** "Do not open, 412 °C, until about 20:50", to be read from the door of the room on the cheapest of screens. */
import { Fragment } from 'preact';
import { useEffect } from 'preact/hooks';
import { statedAgeS } from './dashboard-state.ts';
import { celsius, timeNear, timeOfDay } from './format.ts';
import { judgeLiveness, type Liveness } from './liveness.ts';
import type { Store } from './store.ts';
import { useHeard } from './use-heard.ts';
import { useUnit } from './use-unit.ts';
import type { SignWord } from './wire-types.ts';
import { CLAUSE_END, simulatedBand, watch, door as words } from './wording.ts';

interface DoorPageProps {
  readonly kilnId: string;
  readonly store: Store;
  heardMs(): number | null;
  nowMs(): number;
}

/** What is said first, whether it forbids, and what stands under it. */
interface Sign {
  readonly word: string;
  readonly kind: SignWord | 'not-live';
  readonly degrees: string | null;
  readonly until: string | null;
}

export function DoorPage({ kilnId, store, heardMs, nowMs }: DoorPageProps) {
  useUnit();
  const dashboard = useHeard(store);
  const view = dashboard?.kilns.find(({ now }) => now.id === kilnId);
  const title = words.title(view?.now.name ?? kilnId);
  useEffect(() => {
    document.title = title;
  }, [title]);
  if (dashboard === null) {
    return (
      <main class="sign sign-unknown">
        <h1>
          <Clauses words={nowMs() > 8000 && heardMs() === null ? words.notLive : words.waiting} />
        </h1>
      </main>
    );
  }
  if (view === undefined) {
    return (
      <main class="sign sign-unknown">
        <h1>{words.noKiln(kilnId)}</h1>
      </main>
    );
  }
  const { now } = view;
  const liveness = judgeLiveness(
    {
      heardMs: heardMs(),
      ageS: statedAgeS(dashboard.ages, now.id, now.rulingSensor),
      staleAfterS: now.staleAfterS,
    },
    nowMs(),
  );
  const sign = signOf(view.now.sign, liveness, dashboard.atMs, dashboard.snapshot.utcOffsetMinutes);
  return (
    <main class={`sign sign-${sign.kind}`}>
      <p class="sign-kiln">{now.name}</p>
      <h1>
        <Clauses words={sign.word} />
      </h1>
      {sign.degrees !== null && <p class="sign-degrees">{sign.degrees}</p>}
      {sign.until !== null && <p class="sign-until">{sign.until}</p>}
      <p class="sign-foot">
        {/* What is no longer now must not look like the time on the wall. */}
        {sign.kind === 'not-live' && `${watch.lastHeard} `}
        {timeOfDay(dashboard.atMs, dashboard.snapshot.utcOffsetMinutes)}
        {dashboard.snapshot.simulated !== null && ` · ${simulatedBand(dashboard.snapshot.simulated.speed)}`}
      </p>
    </main>
  );
}

/** A line ends where a clause does, as long as the screen is wide enough: "Do" and "not open" are no two lines. */
function Clauses({ words: said }: { readonly words: string }) {
  const clauses = said.split(CLAUSE_END);
  return (
    <>
      {clauses.map((clause, i) => (
        <Fragment key={clause}>
          {i > 0 && ' '}
          <span class="clause">{clause}</span>
        </Fragment>
      ))}
    </>
  );
}

function signOf(
  sign: { readonly word: SignWord; readonly celsius: number | null; readonly untilMs: number | null },
  liveness: Liveness,
  atMs: number,
  utcOffsetMinutes: number,
): Sign {
  const nothing = { degrees: null, until: words.ask };
  if (liveness.kind === 'not-live' || liveness.kind === 'waiting') {
    return { word: words.notLive, kind: 'not-live', ...nothing };
  }
  // A number that is old is no number at a door.
  if (liveness.kind === 'no-reading') return { word: words.silent, kind: 'unknown', ...nothing };
  const time = sign.untilMs === null ? null : timeNear(sign.untilMs, atMs, utcOffsetMinutes);
  return {
    word: words.word[sign.word],
    kind: sign.word,
    degrees: sign.celsius === null ? null : celsius(sign.celsius),
    until: untilOf(sign.word, time),
  };
}

function untilOf(word: SignWord, time: string | null): string | null {
  switch (word) {
    case 'hot':
      return time === null ? words.notYet : `${words.until.shut} ${time}`;
    case 'crack':
      return time === null ? null : `${words.until.unload} ${time}`;
    // First it is to be closed; when it may be opened again is said once it is.
    case 'open-hot':
    case 'firing':
    case 'propped':
    case 'unload':
    case 'unknown':
      return null;
  }
}
