/** Symmetric positive definite systems: what a least-squares fit solves at each of its steps. */

/**
 * The lower triangle L of A = L Lᵀ, row by row; null where A is not positive definite.
 * Source: Cholesky's method, any text on numerical algebra (from memory); checked in its test.
 */
export function cholesky(a: readonly Float64Array[]): Float64Array[] | null {
  const n = a.length;
  const lower: Float64Array[] = [];
  for (let i = 0; i < n; i++) {
    const row = new Float64Array(n);
    for (let j = 0; j <= i; j++) {
      const other = j === i ? row : (lower[j] as Float64Array);
      let sum = (a[i] as Float64Array)[j] as number;
      for (let k = 0; k < j; k++) sum -= (row[k] as number) * (other[k] as number);
      if (i === j) {
        if (!(sum > 0)) return null;
        row[i] = Math.sqrt(sum);
      } else row[j] = sum / (other[j] as number);
    }
    lower.push(row);
  }
  return lower;
}

/** Solves L Lᵀ x = b. */
export function solveCholesky(lower: readonly Float64Array[], b: Float64Array): Float64Array {
  const n = lower.length;
  const x = Float64Array.from(b);
  for (let i = 0; i < n; i++) {
    const row = lower[i] as Float64Array;
    for (let k = 0; k < i; k++) x[i] = (x[i] as number) - (row[k] as number) * (x[k] as number);
    x[i] = (x[i] as number) / (row[i] as number);
  }
  for (let i = n - 1; i >= 0; i--) {
    for (let k = i + 1; k < n; k++) {
      x[i] = (x[i] as number) - ((lower[k] as Float64Array)[i] as number) * (x[k] as number);
    }
    x[i] = (x[i] as number) / ((lower[i] as Float64Array)[i] as number);
  }
  return x;
}

/** The first `count` rows and columns of the inverse. */
export function inverseCorner(lower: readonly Float64Array[], count: number): number[][] {
  return Array.from({ length: count }, (_, i) => {
    const unit = new Float64Array(lower.length);
    unit[i] = 1;
    return [...solveCholesky(lower, unit).subarray(0, count)];
  });
}
