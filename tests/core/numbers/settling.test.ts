import { describe, expect, it } from 'vitest';
import type { TimedC } from '../../../daemon/core/numbers/line-fit.ts';
import { fitSettling } from '../../../daemon/core/numbers/settling.ts';
import { atS } from '../feeding.ts';

const along = (celsiusAt: (s: number) => number, untilS: number, everyS = 5): TimedC[] =>
  Array.from({ length: untilS / everyS + 1 }, (_, i) => ({ atMs: atS(i * everyS), celsius: celsiusAt(i * everyS) }));

describe('a way that comes to rest', () => {
  it.each([10, 40, 90])('is known by where it rests and by its time, here %i s', (tauS) => {
    const fit = fitSettling(
      along((s) => 400 + 150 * Math.exp(-s / tauS), 3 * tauS),
      4,
      120,
    );
    expect(fit?.restC).toBeCloseTo(400, -1);
    expect((fit?.tauS ?? 0) / tauS).toBeCloseTo(1, 0);
    expect(fit?.strayC).toBeLessThan(1);
  });

  it('is not that of a door: at once, and then on and on', () => {
    const fit = fitSettling(
      along((s) => 340 + 60 * Math.exp(-s / 8) + 150 * Math.exp(-s / 300), 120),
      4,
      120,
    );
    expect(fit?.strayC).toBeGreaterThan(2);
  });

  it('is none of a few readings', () => {
    expect(
      fitSettling(
        along((s) => 400 + s, 15),
        4,
        120,
      ),
    ).toBeNull();
  });
});
