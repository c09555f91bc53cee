/** The operator's hands: what they have set, what they do now, and what they will do in a while. */
import type { Turn } from './kiln-plant.ts';

/** Something the operator did: `what` and `value` as the page logs them, `turn` as the kiln feels it. */
export interface OperatorAct {
  readonly atMs: number;
  readonly what: string;
  readonly value: string;
  readonly turn: Turn;
}

export interface Hand {
  mark(): number;
  doorRatio(): number;
  /** True while he believes the gas to be on. */
  hasGas(): boolean;
  setValve(mark: number): void;
  setDoor(openRatio: number, value: string): void;
  /** Gas first, damper a minute after. */
  gasOff(): void;
  lightUp(): void;
  later(afterS: number, what: string, value: string, turn: Turn): void;
  /** Begins a second: the acts that fell due, to which those of this second are added. */
  begin(atMs: number): OperatorAct[];
}

/** Below this the burner would strike back. From memory. */
const LOWEST_MARK = 0.5;

/** @param markStep the finest turn of the valve */
export function operatorHand(heat: 'gas' | 'electric', markStep: number): Hand {
  let mark = 0;
  let door = 0;
  let gas = false;
  let nowMs = 0;
  let acts: OperatorAct[] = [];
  const pending: OperatorAct[] = [];

  function carryOut(act: OperatorAct): void {
    const { turn } = act;
    if (turn.control === 'valve') mark = turn.mark;
    if (turn.control === 'door') door = turn.openRatio;
    if (turn.control === 'light') gas = true;
    if (turn.control === 'gas-off') {
      gas = false;
      mark = 0;
    }
    acts.push(act);
  }
  const now = (what: string, value: string, turn: Turn): void => carryOut({ atMs: nowMs, what, value, turn });
  const later = (afterS: number, what: string, value: string, turn: Turn): void => {
    pending.push({ atMs: nowMs + afterS * 1000, what, value, turn });
  };

  return {
    mark: () => mark,
    doorRatio: () => door,
    hasGas: () => gas,
    setValve(wanted) {
      if (!gas) return;
      const coarse = Math.min(10, Math.max(LOWEST_MARK, Math.round(wanted / markStep) * markStep));
      if (coarse !== mark) now('valve', `mark ${coarse}`, { control: 'valve', mark: coarse });
    },
    setDoor(openRatio, value) {
      if (openRatio !== door) now('door', value, { control: 'door', openRatio });
    },
    gasOff() {
      if (!gas) return;
      now('gas', 'off', { control: 'gas-off' });
      later(60, 'damper', 'shut', { control: 'damper', openRatio: 0 });
    },
    lightUp() {
      if (heat === 'electric' || gas) return;
      now('flame', 'lit', { control: 'light' });
    },
    later,
    begin(atMs) {
      nowMs = atMs;
      acts = [];
      const due = pending.filter((p) => p.atMs <= atMs);
      for (const act of due) {
        pending.splice(pending.indexOf(act), 1);
        carryOut({ ...act, atMs });
      }
      return acts;
    },
  };
}
