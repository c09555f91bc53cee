import { expect, test } from 'vitest';
import { cholesky, inverseCorner, solveCholesky } from '../../../daemon/core/kiln-model/normal-equations.ts';

const matrix = [
  [4, 2, 0.6],
  [2, 5, 1],
  [0.6, 1, 3],
].map((row) => Float64Array.from(row));

test('a system of three is solved, and its inverse found', () => {
  const lower = cholesky(matrix) ?? [];
  const x = solveCholesky(lower, Float64Array.from([1, 2, 3]));
  const back = matrix.map((row) => row.reduce((sum, a, i) => sum + a * (x[i] ?? 0), 0));
  for (const [i, value] of back.entries()) expect(value).toBeCloseTo([1, 2, 3][i] ?? 0, 12);
  const inverse = inverseCorner(lower, 3);
  const product = matrix.map((row) => row.reduce((sum, a, i) => sum + a * (inverse[i]?.[1] ?? 0), 0));
  for (const [i, value] of product.entries()) expect(value).toBeCloseTo(i === 1 ? 1 : 0, 12);
});

test('a system without one answer is refused', () => {
  expect(cholesky([Float64Array.from([1, 2]), Float64Array.from([2, 4])])).toBeNull();
});
