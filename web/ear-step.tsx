/** What an instrument says as it comes, and each figure in it with every way to read it, for the person to tap. */
import type { EarNow } from '../daemon/wire/setup.ts';
import { LETTERS, type Offer, type Pick, tapped, type Way } from './setup-draft.ts';
import { shownDegrees, unit } from './unit.ts';
import { setup as words } from './wording.ts';

/** Side by side; the rest is behind a word. */
const SIDE_BY_SIDE = 4;

interface EarStepProps {
  readonly ear: EarNow;
  readonly picks: readonly Pick[];
  pick(picks: readonly Pick[]): void;
}

export function EarStep({ ear, picks, pick }: EarStepProps) {
  const isLines = ear.place === 'serial' || ear.place === 'tcp';
  const likely = ear.offers.filter((offer) => offer.ways.length > 0);
  return (
    <section class="begin-step">
      <h2>{words.steps.heard}</h2>
      <p class={ear.state === 'lost' ? 'refusal' : 'quiet'} role="status">
        {ear.sentence}
      </p>
      {ear.state === 'connected' && ear.heard.length === 0 && <p>{words.quiet}</p>}
      {ear.heard.length > 0 && (
        <>
          <p class="label" id="as-it-comes">
            {words.asItComes}
          </p>
          <ol class="raw" aria-labelledby="as-it-comes">
            {ear.heard.map(({ atMs, channel, text }, i) => (
              <li key={`${atMs} ${i}`}>
                {channel !== undefined && <span class="quiet">{channel} </span>}
                {printable(text)}
              </li>
            ))}
          </ol>
        </>
      )}
      {ear.heard.length > 0 && (
        <p>{likely.length > 0 ? words.pickOne : `${words.nothingLike} ${isLines ? words.garbled : ''}`}</p>
      )}
      <ul class="offers">
        {ear.offers.map((offer) => (
          <OfferRow key={offer.id} offer={offer} picks={picks} pick={pick} />
        ))}
      </ul>
      {picks.some(({ way }) => way.startsWith('mV')) && <p class="quiet">{words.terminals}</p>}
      {picks.length > 0 && <Picked picks={picks} pick={pick} />}
    </section>
  );
}

function OfferRow({ offer, picks, pick }: { readonly offer: Offer } & Omit<EarStepProps, 'ear'>) {
  const chosen = picks.find((one) => one.offer === offer.id)?.way;
  const isShut = offer.isCounter || offer.ways.length === 0;
  const shown = isShut ? [] : offer.ways.slice(0, SIDE_BY_SIDE);
  const others = isShut ? [] : offer.ways.slice(SIDE_BY_SIDE);
  const button = (way: Way) => (
    <WayButton
      key={way.key}
      way={way}
      where={offer.where}
      isChosen={chosen === way.key}
      tap={() => pick(tapped(picks, offer, way))}
    />
  );
  return (
    <li class="offer">
      <p>
        <span class="quiet">{offer.where}</span> <b class="came">{printable(offer.text)}</b>
        {isShut && <span class="quiet"> {offer.isCounter ? words.counts : words.noKiln}</span>}
      </p>
      {shown.length > 0 && <div class="ways">{shown.map(button)}</div>}
      {others.length > 0 && (
        <details open={others.some((way) => way.key === chosen)}>
          <summary>{words.others(others.length)}</summary>
          <div class="ways">{others.map(button)}</div>
        </details>
      )}
    </li>
  );
}

interface WayButtonProps {
  readonly way: Way;
  readonly where: string;
  readonly isChosen: boolean;
  tap(): void;
}

function WayButton({ way, where, isChosen, tap }: WayButtonProps) {
  return (
    <button type="button" class="way" aria-pressed={isChosen} onClick={tap}>
      <span class="unseen-but-heard">{where}: </span>
      <b>
        {shownDegrees(way.celsius).toFixed(1).replace('-', '−')} °{unit()}
      </b>
      <span class="way-how">{howRead(way)}</span>
      <span class="way-like">{way.remark}</span>
    </button>
  );
}

/** "in °F", "in mV, type S", "int16 × 0.1" */
function howRead({ unit: counted, letter, decimal, type, order, scale = 1 }: Way): string {
  const unitWords = letter !== undefined ? words.volts(letter) : `in ${counted === 'K' ? 'K' : `°${counted}`}`;
  if (type !== undefined) {
    const isWide = type.endsWith('32');
    const swapped = order === 'ABCD' ? '' : ` ${order}`;
    const times = scale === 1 ? '' : ` × ${scale}`;
    return `${type}${isWide || swapped !== '' ? swapped || ' ABCD' : ''}${times}, ${unitWords}`;
  }
  return decimal === undefined ? unitWords : `${unitWords}, decimal ${decimal}`;
}

/** What each figure that was tapped is called, and what couple gives it. */
function Picked({ picks, pick }: Omit<EarStepProps, 'ear'>) {
  const change = (one: Pick, to: Partial<Pick>): void =>
    pick(picks.map((other) => (other === one ? { ...other, ...to } : other)));
  return (
    <div class="picked">
      {picks.map((one) => (
        <div key={one.offer} class="details">
          <label class="detail">
            <span>{words.sensor}</span>
            <input
              type="text"
              maxLength={40}
              value={one.sensor}
              onInput={(event) => change(one, { sensor: event.currentTarget.value })}
            />
          </label>
          <label class="detail">
            <span>{words.letter}</span>
            <select
              value={one.letter}
              disabled={one.way.startsWith('mV')}
              onChange={(event) => change(one, { letter: event.currentTarget.value as Pick['letter'] })}
            >
              {LETTERS.map((letter) => (
                <option key={letter} value={letter}>
                  {words.couple(letter)}
                </option>
              ))}
            </select>
          </label>
        </div>
      ))}
    </div>
  );
}

/** What no instrument prints is shown as a point; a long line is cut. */
function printable(text: string): string {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
  const shown = text.replace(/[\u0000-\u001f\u007f-\u009f]/g, '·');
  return shown.length > 200 ? `${shown.slice(0, 200)}…` : shown;
}
