import { describe, expect, it } from 'vitest';
import { thinning } from '../../daemon/server/thinning.ts';
import type { LiveMessage } from '../../daemon/wire/live-messages.ts';
import { manualClock } from '../support/manual-clock.ts';
import { scriptedDesk } from '../support/scripted-desk.ts';

function twoDesks(): { readonly messages: LiveMessage[]; readonly kiln: LiveMessage } {
  const desk = scriptedDesk({ moment: 'lid-open' });
  const messages: LiveMessage[] = [];
  desk.listen((message) => messages.push(message));
  desk.advance(300);
  const now = desk.snapshot(true).kilns[0];
  if (now === undefined) throw new Error('the scripted desk has no kiln');
  return { messages, kiln: { type: 'kiln', atMs: desk.nowMs(), kiln: now.id, now } };
}

describe('a viewer is told no more than an eye can follow', () => {
  it('hears at most five positions a second of each kiln, the last of them in the end', () => {
    const clock = manualClock();
    const heard: { message: LiveMessage; realMs: number }[] = [];
    const thinned = thinning(clock, (message) => heard.push({ message, realMs: clock.realMs() }));
    const { messages } = twoDesks();
    for (const message of messages) {
      thinned.offer(message);
      clock.pass(7);
    }
    clock.pass(1000);
    for (const kiln of ['gas', 'electric']) {
      for (const type of ['position', 'forecast']) {
        const of = (m: LiveMessage): boolean => m.type === type && 'kiln' in m && m.kiln === kiln;
        const told = heard.filter(({ message }) => of(message));
        expect(told.length).toBeGreaterThan(5);
        expect(told.length).toBeLessThan(messages.filter(of).length);
        expect(told.at(-1)?.message).toBe(messages.filter(of).at(-1));
        for (const [i, { realMs }] of told.entries()) {
          const fifth = told[i + 5];
          if (fifth !== undefined) expect(fifth.realMs - realMs).toBeGreaterThanOrEqual(1000);
        }
      }
    }
  });

  it('hears every reading, alert and act, in their order', () => {
    const clock = manualClock();
    const heard: LiveMessage[] = [];
    const thinned = thinning(clock, (message) => heard.push(message));
    const { messages } = twoDesks();
    for (const message of messages) thinned.offer(message);
    clock.pass(1000);
    const whole = (list: readonly LiveMessage[]): readonly LiveMessage[] =>
      list.filter((m) => m.type !== 'position' && m.type !== 'forecast');
    expect(whole(messages).length).toBeGreaterThan(100);
    expect(whole(heard)).toEqual(whole(messages));
  });

  it('hears no old position after the news that the firing has changed', () => {
    const clock = manualClock();
    const heard: LiveMessage[] = [];
    const thinned = thinning(clock, (message) => heard.push(message));
    const { messages, kiln } = twoDesks();
    for (const message of messages) thinned.offer(message);
    thinned.offer(kiln);
    clock.pass(1000);
    const after = heard.slice(heard.indexOf(kiln) + 1);
    expect(after.map((m) => `${m.type} ${'kiln' in m ? m.kiln : ''}`)).toEqual([
      'position electric',
      'forecast electric',
    ]);
  });

  it('leaves no timer behind', () => {
    const clock = manualClock();
    const thinned = thinning(clock, () => undefined);
    for (const message of twoDesks().messages) thinned.offer(message);
    expect(clock.timerCount()).toBe(4);
    thinned.stop();
    expect(clock.timerCount()).toBe(0);
  });
});
