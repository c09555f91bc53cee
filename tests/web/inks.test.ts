/** The inks of the page, reckoned from the style sheet itself: whether they can be read, and that nothing moves. */
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';

const web = new URL('../../web/', import.meta.url);
const style = readFileSync(new URL('style.css', web), 'utf8');

type Inks = Readonly<Record<string, string>>;

/** The custom properties of one rule that are colours. */
function inksOf(selector: string, css: string): Inks {
  const rule = css.slice(css.indexOf(`${selector}`)).match(/\{([^}]*)\}/)?.[1] ?? '';
  return Object.fromEntries([...rule.matchAll(/--([\w-]+):\s*(#[0-9a-f]{6})/g)].map(([, name, hex]) => [name, hex]));
}

const light = inksOf(':root {', style);
const dark = { ...light, ...inksOf(':root[data-theme="dark"] {', style) };
const asTheSystemWants = { ...light, ...inksOf(':root:not([data-theme="light"]) {', style) };

/** Source: WCAG 2.2, relative luminance and contrast ratio. */
function contrast(a: string, b: string): number {
  const luminance = (hex: string): number => {
    const [r = 0, g = 0, blue = 0] = [1, 3, 5].map((at) => {
      const v = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
      return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * blue;
  };
  const [most, least] = [luminance(a), luminance(b)].sort((x, y) => y - x) as [number, number];
  return (most + 0.05) / (least + 0.05);
}

describe.each([
  ['the light page', light],
  ['the dark page', dark],
])('%s', (_, inks) => {
  const of = (name: string): string => inks[name] ?? 'none';

  test.each(['paper', 'panel'])('on its %s words have a contrast of 4.5 at least, lines and edges of 3', (ground) => {
    for (const ink of ['ink', 'quiet', 'sensor-1', 'sensor-2', 'sensor-3'])
      expect({ ink, contrast: contrast(of(ink), of(ground)) }).toMatchObject({
        contrast: expect.toSatisfy((c) => c >= 4.5),
      });
    for (const line of ['plan', 'edge'])
      expect({ line, contrast: contrast(of(line), of(ground)) }).toMatchObject({
        contrast: expect.toSatisfy((c) => c >= 3),
      });
  });

  test('the words on what wants a hand have a contrast of 4.5 at least', () => {
    expect(contrast(of('on-now'), of('now'))).toBeGreaterThanOrEqual(4.5);
    expect(contrast(of('on-soon'), of('soon'))).toBeGreaterThanOrEqual(4.5);
  });
});

test('the dark page has the same inks whether the system or a hand asks for it', () => {
  expect(dark).toEqual(asTheSystemWants);
});

test('what says NOT LIVE is written with the same inks', () => {
  const page = readFileSync(new URL('not-live-page.ts', web), 'utf8');
  expect(light).toMatchObject(inksOf(':root{', page));
  expect(dark).toMatchObject(inksOf(':root[data-theme=dark]{', page));
  expect(Object.keys(inksOf(':root{', page))).toEqual(['paper', 'ink', 'quiet']);
});

test('nothing on the page moves by itself', () => {
  const sheets = readdirSync(web).filter((name) => name.endsWith('.css'));
  expect(sheets).toContain('style.css');
  for (const name of sheets)
    expect(readFileSync(new URL(name, web), 'utf8')).not.toMatch(/\b(animation|transition)\b\s*:|@keyframes/);
});
