import { execFileSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { checkChain, linkLines, noLine, sha256 } from '../../daemon/recorder/hash-chain.ts';
import type { Entry } from '../../daemon/recorder/recorder.ts';

const start = { lines: 0, head: noLine };
const firing: readonly Entry[] = [
  { type: 'open', t: 1_000, kiln: { name: 'Gasofen Süd' } },
  ...Array.from({ length: 6 }, (_, i): Entry => ({ type: 'raw', t: 2_000 + i, text: `${640 + i}.5` })),
  { type: 'close', t: 9_000, why: 'cold' },
];
const whole = linkLines(firing, start).bytes;
const lines = whole.toString('utf8').trimEnd().split('\n');
const joined = (list: readonly string[]): Buffer => Buffer.from(list.map((line) => `${line}\n`).join(''));

describe('the chain of a record', () => {
  it('links each line to the bytes of the one before', () => {
    const second = JSON.parse(lines[1] ?? '');
    expect(second).toMatchObject({ n: 2, prev: sha256(Buffer.from(lines[0] ?? '')) });
    expect(JSON.parse(lines[0] ?? '')).toMatchObject({ n: 1, prev: '0'.repeat(64) });
  });

  it('can be followed by an outsider with sha256sum alone', () => {
    for (let k = 1; k < lines.length; k += 1) {
      const told = execFileSync('sha256sum', { input: lines[k - 1] })
        .toString()
        .slice(0, 64);
      expect(JSON.parse(lines[k] ?? '').prev).toBe(told);
    }
  });

  it('is OK when nothing was touched and the firing is closed', () => {
    expect(checkChain(whole)).toEqual({
      verdict: 'OK',
      sentence: 'lines 1 to 8 stand as they were written, from the opening to the closing line.',
      lines: 8,
      head: sha256(Buffer.from(lines[7] ?? '')),
    });
  });

  it('is INCOMPLETE without its closing line, with a torn line, and when empty', () => {
    expect(checkChain(joined(lines.slice(0, 5)))).toMatchObject({ verdict: 'INCOMPLETE', lines: 5 });
    const torn = checkChain(whole.subarray(0, whole.length - 1));
    expect(torn).toMatchObject({ verdict: 'INCOMPLETE', lines: 7 });
    expect(torn.sentence).toMatch(/^Line 8 is torn off after \d+ bytes; lines 1 to 7 stand as they were written\.$/);
    expect(checkChain(Buffer.alloc(0))).toMatchObject({ verdict: 'INCOMPLETE', lines: 0 });
  });

  it.each([1, 2, 3, 4, 5, 6, 7])('names line %i when a value in it was changed', (n) => {
    const changed = lines.with(n - 1, (lines[n - 1] ?? '').replace(/"t":\d/, '"t":7'));
    expect(checkChain(joined(changed))).toMatchObject({
      verdict: 'BAD',
      line: n,
      lines: n === 1 ? 1 : expect.any(Number),
    });
  });

  it.each([2, 3, 4, 5, 6, 7])('names line %i when its link was changed', (n) => {
    const changed = lines.with(n - 1, (lines[n - 1] ?? '').replace(/"prev":"./, '"prev":"x'));
    expect(checkChain(joined(changed))).toMatchObject({ verdict: 'BAD', line: n });
  });

  it('finds a line taken out, doubled, or two lines that changed places', () => {
    expect(checkChain(joined(lines.toSpliced(3, 1)))).toMatchObject({ verdict: 'BAD', line: 4 });
    expect(checkChain(joined(lines.toSpliced(3, 0, lines[2] ?? '')))).toMatchObject({ verdict: 'BAD', line: 4 });
    const swapped = lines.with(3, lines[4] ?? '').with(4, lines[3] ?? '');
    expect(checkChain(joined(swapped))).toMatchObject({ verdict: 'BAD', line: 4 });
    expect(checkChain(joined(lines.slice(1)))).toMatchObject({ verdict: 'BAD', line: 1 });
  });

  it('finds a line that says the same but is written in another way', () => {
    for (const spelling of [(l: string) => l.replace('{', '{ '), (l: string) => l.replace('"raw"', '"\\u0072aw"')]) {
      const check = checkChain(joined(lines.with(2, spelling(lines[2] ?? ''))));
      expect(check).toMatchObject({ verdict: 'BAD', line: 3 });
      expect(check.sentence).toContain('not written the way the recorder writes');
    }
  });

  it('finds a field that stands twice, a decimal, an empty line, and a line end of another system', () => {
    const third = lines[2] ?? '';
    const worse = [third.replace('{', '{"a":1,"a":2,'), third.replace(/"t":\d+/, '"t":2001.5'), '', `${third}\r`];
    for (const line of worse)
      expect(checkChain(joined(lines.with(2, line)))).toMatchObject({ verdict: 'BAD', line: 3 });
  });

  it('finds lines written after the closing one', () => {
    const more = linkLines([{ type: 'raw', t: 10_000 }], { lines: 8, head: checkChain(whole).head }).bytes;
    expect(checkChain(Buffer.concat([whole, more]))).toMatchObject({ verdict: 'BAD', line: 9 });
  });

  it('lets words about the firing stand behind the close, and calls a torn one incomplete', () => {
    const { head } = checkChain(whole);
    const words = linkLines([{ type: 'note', t: 10_000, text: 'a crack' }], { lines: 8, head }).bytes;
    expect(checkChain(Buffer.concat([whole, words]))).toMatchObject({ verdict: 'OK', lines: 9 });
    expect(checkChain(Buffer.concat([whole, words.subarray(0, 20)]))).toMatchObject({ verdict: 'INCOMPLETE' });
  });

  it('is never OK when one bit of the record before its last line is turned', () => {
    const lastLine = whole.length - (lines[7]?.length ?? 0) - 1;
    for (let at = 0; at < lastLine; at += 1) {
      const turned = Buffer.from(whole);
      turned[at] = (turned[at] ?? 0) ^ (1 << (at % 8));
      expect(checkChain(turned).verdict, `byte ${at}`).toBe('BAD');
    }
  });

  it('refuses an entry that brings its own number or link', () => {
    expect(() => linkLines([{ type: 'raw', t: 1, n: 5 }], start)).toThrow('given by the recorder alone');
  });
});
