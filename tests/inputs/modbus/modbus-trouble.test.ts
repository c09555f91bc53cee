/** What the person at the kiln is told when an instrument gives no values. */
import { describe, expect, it } from 'vitest';
import { exceptionInWords } from '../../../daemon/inputs/modbus/exceptions.ts';
import { rtuFraming } from '../../../daemon/inputs/modbus/frames.ts';
import { modbusMaster } from '../../../daemon/inputs/modbus/master.ts';
import { whyNoValues } from '../../../daemon/inputs/modbus/modbus-trouble.ts';
import { type UnitTrouble, unitPoll } from '../../../daemon/inputs/modbus/unit-poll.ts';
import { rtuFrame, rtuReader } from '../../../simulators/modbus/frames.ts';
import { answerTo } from '../../../simulators/modbus/slave.ts';
import { ALIKE } from '../../support/late-polls.ts';
import { type VirtualClock, virtualClock } from '../../support/virtual-clock.ts';

describe('what an instrument refuses', () => {
  it.each([
    [1, /does not know this function/],
    [2, /has no such register/],
    [3, /does not give so many registers/],
    [4, /fault of its own/],
    [5, /needs time/],
    [6, /is busy/],
    [8, /memory has an error/],
    [10, /gateway is there, but has no way to the instrument/],
    [11, /gateway is there, the instrument is not/],
    [9, /code 9, which no standard names/],
    [255, /code 255, which no standard names/],
  ])('with code %i is said in plain words', (code, words) => {
    expect(exceptionInWords(code)).toMatch(words);
    expect(whyNoValues(7, '/dev/ttyUSB0 at 9600 baud', { kind: 'exception', code })).toMatch(
      /^Unit 7 on \/dev\/ttyUSB0 at 9600 baud gives no value: [a-z].*\.$/,
    );
  });
});

/** One round over a line on which `hear` decides what becomes of a question. */
async function troublesOf(
  rounds: number,
  hear: (bytes: Uint8Array, say: (bytes: Uint8Array) => void, clock: VirtualClock) => void,
): Promise<(UnitTrouble['kind'] | 'none')[]> {
  const clock = virtualClock();
  const master = modbusMaster(rtuFraming, (bytes) => hear(bytes, (answer) => master.heard(answer), clock), clock, {
    timeoutMs: 200,
    gapMs: 4,
    byteMs: 1,
  });
  const poll = unitPoll(ALIKE, 200, clock, { words: () => undefined, exception: () => undefined });
  poll.begin();
  const troubles: (UnitTrouble['kind'] | 'none')[] = [];
  let isDone = false;
  const asking = (async () => {
    for (let i = 0; i < rounds; i++) troubles.push((await poll.round(master))?.kind ?? 'none');
    isDone = true;
  })();
  await clock.run(Number.MAX_SAFE_INTEGER, () => isDone);
  await asking;
  return troubles;
}

const registers = new Map(Array.from({ length: 64 }, (_, i) => [i, i]));

describe('a line', () => {
  it('on which something talks without a pause is said to be no use to anybody', async () => {
    const clock = virtualClock();
    const master = modbusMaster(rtuFraming, () => undefined, clock, { timeoutMs: 200, gapMs: 4, byteMs: 1 });
    const stop = clock.every(20, () => master.heard(Uint8Array.of(0x55)));
    const poll = unitPoll(ALIKE, 200, clock, { words: () => undefined, exception: () => undefined });
    let trouble: UnitTrouble | undefined;
    let isDone = false;
    const asking = poll.round(master).then((found) => {
      trouble = found;
      isDone = true;
    });
    // The virtual clock knows of waits; the babble is one each 20 ms.
    while (!isDone) await clock.run(20);
    stop();
    await asking;
    expect(trouble).toEqual({ kind: 'babble' });
    expect(whyNoValues(1, 'box:4001', { kind: 'babble' })).toContain('something talks without a pause');
  });

  it('with an instrument that answers what it knows and is silent to the rest is told when it cannot be proven', async () => {
    const reader = rtuReader();
    const troubles = await troublesOf(6, (bytes, say, clock) => {
      for (const { unit, pdu } of reader.push(bytes)) {
        // Single holding registers only.
        if (pdu[0] === 3 && pdu[4] === 1) clock.after(10, () => say(rtuFrame(unit, answerTo(pdu, registers))));
      }
    });
    expect(troubles).toContain('unprovable');
    expect(troubles).not.toContain('none');
  });

  it('with an instrument in step is read from the first round on', async () => {
    const reader = rtuReader();
    const troubles = await troublesOf(3, (bytes, say, clock) => {
      for (const { unit, pdu } of reader.push(bytes))
        clock.after(10, () => say(rtuFrame(unit, answerTo(pdu, registers))));
    });
    expect(troubles).toEqual(['none', 'none', 'none']);
  });
});
