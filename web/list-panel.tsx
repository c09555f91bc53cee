/** Before lighting: whether the couples agree, which is checked by itself, and the painter's own list. */
import { useEffect, useState } from 'preact/hooks';
import { readFigure } from './act-choices.ts';
import { api } from './api.ts';
import type { KilnView } from './dashboard-state.ts';
import { celsius } from './format.ts';
import { inShownUnit, unit } from './unit.ts';
import type { Couples } from './wire-types.ts';
import { begin as words } from './wording.ts';

export interface ListLine {
  readonly text: string;
  readonly isDone: boolean;
}

export interface LightingList {
  readonly items: readonly ListLine[];
  /** What the room's thermometer shows; null where nobody looked. */
  readonly roomC: number | null;
  readonly typedRoom: string;
  readonly couples: Couples | null;
  setItems(items: readonly ListLine[]): void;
  typeRoom(typed: string): void;
}

/** The couples are looked at anew this often: a plug that is pushed in shows at once. */
const LOOK_MS = 3000;

export function useBeforeLighting(kiln: string): LightingList {
  const [items, setItems] = useState<readonly ListLine[]>([]);
  const [typedRoom, typeRoom] = useState('');
  const [couples, setCouples] = useState<Couples | null>(null);
  const roomC = roomOf(typedRoom);
  useEffect(() => {
    let isFirst = true;
    let isWanted = true;
    const look = async (): Promise<void> => {
      const answer = await api.beforeLighting(kiln, roomC === null ? '' : String(roomC));
      if (!isWanted || !answer.ok) return;
      setCouples(answer.value.couples);
      const lines = answer.value.items;
      if (isFirst) setItems((known) => (known.length > 0 ? known : lines.map((text) => ({ text, isDone: false }))));
      isFirst = false;
    };
    void look();
    const timer = setInterval(() => void look(), LOOK_MS);
    return () => {
      isWanted = false;
      clearInterval(timer);
    };
  }, [kiln, roomC]);
  return { items, roomC, typedRoom, couples, setItems, typeRoom };
}

/** As typed in this screen's degrees, one decimal of °C; null for what is no room's temperature. */
function roomOf(typed: string): number | null {
  const figure = readFigure(typed);
  if (figure === null) return null;
  const roomC = unit() === 'F' ? (Number(figure) - 32) / 1.8 : Number(figure);
  return roomC >= -40 && roomC <= 60 ? Math.round(roomC * 10) / 10 : null;
}

interface ListPanelProps {
  readonly kiln: KilnView;
  readonly list: LightingList;
}

export function ListPanel({ kiln, list }: ListPanelProps) {
  const { items, setItems, couples, typedRoom, typeRoom } = list;
  const [added, setAdded] = useState('');
  const add = (): void => {
    const text = added.trim();
    if (text === '' || items.some((line) => line.text === text)) return;
    setItems([...items, { text, isDone: false }]);
    setAdded('');
  };
  return (
    <>
      <section class="begin-step">
        <h2>{words.steps.sensors}</h2>
        <ul class="couples">
          {kiln.now.sensors.map((sensor) => {
            const reading = kiln.now.readings.find((one) => one.sensor === sensor);
            return (
              <li key={sensor}>
                {sensor} <b>{reading?.celsius == null ? '–' : celsius(reading.celsius)}</b>
              </li>
            );
          })}
        </ul>
        <label class="name-field">
          <span>
            {words.roomC}, °{unit()}
          </span>
          <input
            type="text"
            inputMode="decimal"
            autocomplete="off"
            maxLength={6}
            value={typedRoom}
            onInput={(event) => typeRoom(event.currentTarget.value)}
          />
        </label>
        {couples !== null && (
          <p class={`couples-word agree-${couples.agree}`} role="status">
            <b class="agree-word">{couplesBadge(couples)}</b> {inShownUnit(couples.sentence)}
          </p>
        )}
      </section>
      <section class="begin-step">
        <h2>{words.steps.list}</h2>
        <p class="quiet">{words.listNote}</p>
        <ul class="lighting-list">
          {items.map((line) => (
            <li key={line.text}>
              <label>
                <input
                  type="checkbox"
                  checked={line.isDone}
                  onChange={(event) => {
                    const isDone = event.currentTarget.checked;
                    setItems(items.map((one) => (one === line ? { ...one, isDone } : one)));
                  }}
                />
                <span>{line.text}</span>
              </label>
              <button
                type="button"
                class="take-out"
                aria-label={`${words.takeOut}: ${line.text}`}
                onClick={() => setItems(items.filter((one) => one !== line))}
              >
                {words.takeOut}
              </button>
            </li>
          ))}
        </ul>
        <form
          class="add-line"
          onSubmit={(event) => {
            event.preventDefault();
            add();
          }}
        >
          <input
            type="text"
            aria-label={words.addLine}
            placeholder={words.addLine}
            maxLength={120}
            value={added}
            onInput={(event) => setAdded(event.currentTarget.value)}
          />
          <button type="submit">{words.add}</button>
        </form>
      </section>
    </>
  );
}

function couplesBadge({ agree }: Couples): string {
  if (agree === null) return words.couplesSaid.unsaid;
  return agree ? words.couplesSaid.yes : words.couplesSaid.no;
}
