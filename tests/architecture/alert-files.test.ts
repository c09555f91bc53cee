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

  it('explain only what comes after them: the catalogue is read from the first cause on', () => {
    const order = CATALOGUE.map((rule) => rule.alert as string);
    const wrong = CATALOGUE.flatMap(({ alert }, place) => {
      const text = files.find(({ path }) => path === `daemon/core/alerts/${alert}.ts`)?.text ?? '';
      const lists = [...text.matchAll(/(?:explains|replaces)\w*\b[^\n[]*\[([^\]]*)\]/gi)].map(([, list = '']) => list);
      const kinds = lists.flatMap((list) => [...list.matchAll(/'([a-z-]+)'/g)].map(([, kind = '']) => kind));
      return kinds.filter((kind) => order.includes(kind) && order.indexOf(kind) <= place).map((k) => `${alert}: ${k}`);
    });
    expect(wrong).toEqual([]);
  });

  it('have a test of their own', () => {
    const tests = sourceFiles('tests/core/alerts', ['.test.ts']).map(({ path }) => path);
    for (const { alert } of CATALOGUE) expect(tests).toContain(`tests/core/alerts/${alert}.test.ts`);
  });
});
