/** Lives a recorded firing again: its inputs go through core as they came, with the ticks between them. */
import type { FiringEvent } from '../core/events.ts';
import { beginFiring, type FiringState } from '../core/state.ts';
import { passTime, step } from '../core/step.ts';
import type { Line } from '../recorder/recorder.ts';
import { type Opening, readInput } from './record-lines.ts';

/** Lines that stand in no order of the firing's time, or behind its end: nothing happened in the kiln with them. */
const APART: ReadonlySet<string> = new Set(['open', 'recovered', 'resumed', 'close', 'note', 'correction', 'sign-off']);

/**
 * The daemon ticked while it ran, so time passes up to each line; it did not while it was away,
 * so no time passes between the last line and the one that says it came back.
 */
export function relive(opening: Opening, lines: readonly Line[], onEvent?: (event: FiringEvent) => void): FiringState {
  let state = beginFiring(opening.kiln, opening.schedule, opening.startedAtMs);
  const say = (events: readonly FiringEvent[]): void => {
    if (onEvent !== undefined) for (const event of events) onEvent(event);
  };
  for (const line of lines) {
    if (APART.has(line.type)) continue;
    const input = readInput(line);
    const isReturn = line.type === 'edge' && line.edge === 'restarted';
    if (!isReturn) {
      // What a tick said stands at the tick's own instant, up to which time passes only if it passes beyond.
      const passed = passTime(state, input === undefined ? line.t + 1 : line.t);
      state = passed.state;
      say(passed.events);
    }
    if (input === undefined) continue;
    const stepped = step(state, input);
    state = stepped.state;
    say(stepped.events);
  }
  return state;
}
