import { describe, expect, it } from 'vitest';
import { CATALOGUE } from '../../daemon/core/alerts/catalogue.ts';
import { sourceFiles } from './source-files.ts';

describe('the rules of the catalogue', () => {
  const files = sourceFiles('daemon/core/alerts', ['.ts']);

  it.each(CATALOGUE.map((rule) => rule.alert))('%s has a file of its own, named for its kind', (kind) => {
    const text = files.find(({ path }) => path === `daemon/core/alerts/${kind}.ts`)?.text ?? '';
    expect(text).toContain(`alert: '${kind}'`);
  });

  it('are all there is: no file holds a rule that nobody asks', () => {
    const kinds = files.flatMap(({ text }) =>
      [...text.matchAll(/^ {2}alert: '([a-z-]+)',$/gm)].map(([, kind]) => kind),
    );
    expect(kinds.sort()).toEqual(CATALOGUE.map((rule) => rule.alert).sort());
  });

  it('have a test of their own', () => {
    const tests = sourceFiles('tests/core/alerts', ['.test.ts']).map(({ path }) => path);
    for (const { alert } of CATALOGUE) expect(tests).toContain(`tests/core/alerts/${alert}.test.ts`);
  });
});
