import { describe, expect, test } from 'vitest';
import type { AlertMessage, LiveMessage } from '../../daemon/wire/live-messages.ts';
import { type Dashboard, hear } from '../../web/dashboard-state.ts';
import { dueRing, type Rung, wantedRings } from '../../web/ring-plan.ts';
import { scriptedDesk } from '../support/scripted-desk.ts';

const desk = scriptedDesk({ moment: 'overshoot' });

function dashboard(...messages: LiveMessage[]): Dashboard {
  let state = hear(null, desk.snapshot(true));
  for (const message of messages) state = hear(state, message);
  if (state === null) throw new Error('no snapshot was heard');
  return state;
}

function alert(over: Partial<AlertMessage> = {}): AlertMessage {
  const [first] = desk.snapshot(true).kilns[0]?.alerts ?? [];
  if (first === undefined) throw new Error('the moment has no alert');
  return { ...first, ...over };
}

/** Lets seconds pass and lists what sounds in each. */
function soundsOf(state: Dashboard | null, seconds: number, isNotLive = false): string[] {
  let rung: Rung = new Map();
  const heard: string[] = [];
  for (let s = 0; s < seconds; s++) {
    const due = dueRing(wantedRings(state, isNotLive), rung, s * 1000);
    rung = due.rung;
    if (due.ring !== null) heard.push(`${s} ${due.ring.ring}${due.isSaid ? ` ${due.ring.say}` : ''}`);
  }
  return heard;
}

const noCalls = { position: null };
function quietBut(...alerts: AlertMessage[]): Dashboard {
  const state = dashboard();
  return {
    ...state,
    kilns: state.kilns.map((view, i) => ({ ...view, now: { ...view.now, ...noCalls, alerts: i === 0 ? alerts : [] } })),
  };
}

describe('the bell', () => {
  test('is silent in a quiet firing', () => {
    expect(soundsOf(quietBut(), 120)).toEqual([]);
  });

  test('rings on for what is wanted now, and says it with the kiln’s name at the first ring and every sixth', () => {
    const sounds = soundsOf(quietBut(alert({ priority: 'now', message: 'Turn down now: 648.' })), 40);
    expect(sounds[0]).toBe('0 now Gas kiln. Turn down now: 648.');
    expect(sounds.map((one) => Number.parseInt(one, 10))).toEqual([0, 6, 12, 18, 24, 30, 36]);
    expect(sounds.filter((one) => one.includes('Gas kiln'))).toHaveLength(2);
  });

  test('falls silent as soon as somebody has seen it, whatever the screen, and rings again if it gets worse', () => {
    const calling = alert({ priority: 'soon' });
    const seen = alert({ priority: 'soon', life: 'seen', seenBy: 'Ben' });
    expect(soundsOf(quietBut(calling), 1)).toHaveLength(1);
    expect(soundsOf(quietBut(seen), 60)).toEqual([]);
    expect(soundsOf(quietBut(alert({ priority: 'now' })), 1)[0]).toMatch(/^0 now/);
  });

  test('sounds once for a note, once and softly for what is over', () => {
    expect(soundsOf(quietBut(alert({ priority: 'note' })), 300)).toHaveLength(1);
    expect(soundsOf(quietBut(alert({ life: 'over-unseen', phase: 'over' })), 300)).toEqual([
      expect.stringMatching(/^0 over/),
    ]);
  });

  test('has no sound for what is listed under another', () => {
    const first = alert({ id: 'a', priority: 'now' });
    const held = alert({ id: 'b', priority: 'now', heldBackBy: 'a' });
    expect(wantedRings(quietBut(first, held), false)).toHaveLength(1);
  });

  test('calls the hand once a minute while a call is due', () => {
    const state = quietBut();
    const [kiln] = desk.snapshot(true).kilns;
    if (kiln?.position == null) throw new Error('no position');
    const call = {
      id: '1-0',
      do: 'turn down',
      dueAtMs: 0,
      callAtMs: 0,
      state: 'due' as const,
      sentence: 'Turn down at 13:52.',
    };
    const due = hear(state, { ...kiln.position, calls: [call] });
    expect(soundsOf(due, 130).map((one) => Number.parseInt(one, 10))).toEqual([0, 60, 120]);
    expect(soundsOf(due, 1)).toEqual(['0 call Gas kiln. Turn down at 13:52.']);
  });

  test('of two things the more urgent sounds first, and the other is not lost', () => {
    const sounds = soundsOf(quietBut(alert({ id: 'a', priority: 'note' }), alert({ id: 'b', priority: 'now' })), 4);
    expect(sounds.map((one) => one.split(' ')[1])).toEqual(['now', 'note']);
  });

  test('sounds when the page hears nothing any more, even if nothing was amiss', () => {
    expect(soundsOf(quietBut(), 21, true).map((one) => Number.parseInt(one, 10))).toEqual([0, 10, 20]);
  });
});
