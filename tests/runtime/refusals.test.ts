/** Lines that cannot be used: one sentence in the log and on the page, however many come. */
import { afterEach, expect, test } from 'vitest';
import { climb, type LoopBench, loopBench } from '../support/loop-bench.ts';
import { expectSameWhenLivedAgain, linesOf, readRecord } from '../support/record-check.ts';

let bench: LoopBench;

afterEach(() => bench.end());

test.each([
  ['a garbled line', '6\u0000\ufffd5.3', 'The line "6·\ufffd5.3" is garbled: check baud and parity.'],
  ['an empty line', '  ', 'An empty line.'],
  ['a line with a column too many', '61.2;61.4', 'The line "61.2;61.4" has no temperature where middle should be.'],
  ['an instrument that gives no value', '---', 'middle gives no temperature: the instrument gives no value.'],
])(
  '%s in mid-firing is told once in the log and among the troubles, and the watch goes on',
  async (_what, text, sentence) => {
    bench = await loopBench();
    const { feed, say, loop, log } = bench;
    await feed(...climb(20, 60, 10));
    const id = loop.running?.id ?? '';
    const logged = log.length;
    await say(text);
    expect(loop.troubles).toEqual([sentence]);
    expect(log.slice(logged)).toEqual([`Small gas kiln: ${sentence}`]);
    await feed(60, 60.1);
    expect(loop.running?.id).toBe(id);
    expect(loop.state.sensors.middle?.last?.celsius).toBe(60.1);
    const { lines } = await readRecord(bench.dataDir, id);
    const raw = linesOf(lines, 'reading').map((line) => line.raw);
    expect(raw).toEqual([...climb(20, 60, 10).map(String), text, '60', '60.1']);
    expect(expectSameWhenLivedAgain(lines).rejectedCount).toBe(1);
  },
);

test('the sentence leaves the page a minute after the last line that could not be used', async () => {
  bench = await loopBench();
  const { say, wait, loop } = bench;
  await say('x');
  await wait(40);
  await say('y');
  expect(loop.troubles).toEqual(['The line "y" has no temperature where middle should be.']);
  await wait(59);
  expect(loop.troubles).toHaveLength(1);
  await wait(1);
  expect(loop.troubles).toEqual([]);
});

test('a cable that garbles every line fills neither log nor page', async () => {
  bench = await loopBench();
  const { say, log, loop } = bench;
  for (let second = 0; second < 150; second++) await say(`?${second}`);
  expect(log).toEqual([
    'Small gas kiln: The line "?0" has no temperature where middle should be.',
    'Small gas kiln: The line "?60" has no temperature where middle should be. 59 more could not be used since the last word.',
    'Small gas kiln: The line "?120" has no temperature where middle should be. 59 more could not be used since the last word.',
  ]);
  expect(loop.troubles).toHaveLength(1);
});
