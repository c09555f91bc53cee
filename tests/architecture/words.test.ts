import { describe, expect, it } from 'vitest';
import { sourceFiles } from './source-files.ts';

const files = ['daemon', 'web', 'simulators', 'profiles'].flatMap((folder) =>
  sourceFiles(folder, ['.ts', '.tsx', '.css', '.html', '.yaml', '.md', '.svg']),
);

/** Lines that match, as `path:line text`. */
function found(pattern: RegExp, where = files): string[] {
  return where.flatMap(({ path, text }) =>
    text.split('\n').flatMap((line, i) => (pattern.test(line) ? [`${path}:${i + 1} ${line.trim()}`] : [])),
  );
}

describe('the words of the source', () => {
  it('are looked at', () => {
    expect(files.length).toBeGreaterThan(120);
  });

  it('name no path of the machine it was written on', () => {
    expect(found(/(?<![\w.])\/(work|root|tmp|home\/\w+|Users\/\w+)\//)).toEqual([]);
  });

  it('name no number of an issue', () => {
    expect(found(/\b(issue|ticket|pull request) #?\d/i)).toEqual([]);
  });

  it('leave no work undone in a remark', () => {
    expect(found(/\b(TODO|FIXME|XXX|HACK)\b/)).toEqual([]);
  });

  it('call no forecast’s band a cone: cones are clay', () => {
    expect(
      found(
        /\bcones?\b(?! down)/i,
        files.filter(({ path }) => /^(daemon\/core\/(forecast|report)|web)\//.test(path)),
      ),
    ).toEqual([]);
  });

  it('take randomness from a seed: core has none of its own', () => {
    expect(
      found(
        /Math\.random/,
        files.filter(({ path }) => /^(daemon\/core|simulators)\//.test(path)),
      ),
    ).toEqual([]);
  });
});
