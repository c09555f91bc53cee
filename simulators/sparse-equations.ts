/**
 * Equations of which each ties a few unknowns together: which places of the matrix are ever used is worked out once,
 * the unknowns with the fewest neighbours go first, and each solving then touches only those places.
 */
export interface SparseEquations {
  /** The matrix's used places; filled anew before each solving. */
  readonly values: Float64Array;
  /** Where a place lies in `values`. @throws RangeError for a place that was not announced */
  place(row: number, column: number): number;
  /** Solves by elimination without pivoting; the answer is left in `right`. Each diagonal must outweigh its row. */
  solve(right: Float64Array): void;
}

interface Pivot {
  readonly unknown: number;
  /** Unknowns that go later and are tied to it by now. */
  readonly later: readonly number[];
}

/** Fewest neighbours first; those of an unknown that has gone are tied to each other. */
function orderOf(size: number, ties: readonly (readonly [number, number])[]): Pivot[] {
  const neighbours = Array.from({ length: size }, () => new Set<number>());
  for (const [a, b] of ties) {
    if (a === b) continue;
    neighbours[a]?.add(b);
    neighbours[b]?.add(a);
  }
  const left = new Set(Array.from({ length: size }, (_, i) => i));
  const pivots: Pivot[] = [];
  while (left.size > 0) {
    let unknown = -1;
    let fewest = Number.POSITIVE_INFINITY;
    for (const i of left) {
      const count = (neighbours[i] as Set<number>).size;
      if (count < fewest) [unknown, fewest] = [i, count];
    }
    const later = [...(neighbours[unknown] as Set<number>)].sort((a, b) => a - b);
    for (const a of later) {
      neighbours[a]?.delete(unknown);
      for (const b of later) if (a !== b) neighbours[a]?.add(b);
    }
    left.delete(unknown);
    pivots.push({ unknown, later });
  }
  return pivots;
}

/** @param ties pairs of unknowns that stand in each other's equation */
export function sparseEquations(size: number, ties: readonly (readonly [number, number])[]): SparseEquations {
  const pivots = orderOf(size, ties);
  const places = new Map<number, number>();
  const claim = (row: number, column: number): number => {
    const key = row * size + column;
    const known = places.get(key);
    if (known !== undefined) return known;
    places.set(key, places.size);
    return places.size - 1;
  };
  // For each pivot in turn: its own place, then, for each later unknown, its number and the places of row and column;
  // then the places where those rows and columns cross.
  const unknowns = Int32Array.from(pivots, (p) => p.unknown);
  const own = Int32Array.from(unknowns, (u) => claim(u, u));
  const counts = Int32Array.from(pivots, (p) => p.later.length);
  const laterUnknowns = Int32Array.from(pivots.flatMap((p) => [...p.later]));
  const inRow = Int32Array.from(pivots.flatMap((p) => p.later.map((c) => claim(p.unknown, c))));
  const inColumn = Int32Array.from(pivots.flatMap((p) => p.later.map((r) => claim(r, p.unknown))));
  const crossings = Int32Array.from(pivots.flatMap((p) => p.later.flatMap((r) => p.later.map((c) => claim(r, c)))));
  const values = new Float64Array(places.size);

  return {
    values,
    place(row, column) {
      const known = places.get(row * size + column);
      if (known === undefined) throw new RangeError(`the equations have no place in row ${row}, column ${column}`);
      return known;
    },
    solve(right) {
      let first = 0;
      let crossing = 0;
      for (let p = 0; p < size; p++) {
        const count = counts[p] as number;
        const pivot = values[own[p] as number] as number;
        const known = right[unknowns[p] as number] as number;
        for (let r = first; r < first + count; r++) {
          const factor = (values[inColumn[r] as number] as number) / pivot;
          for (let c = first; c < first + count; c++) {
            const at = crossings[crossing++] as number;
            values[at] = (values[at] as number) - factor * (values[inRow[c] as number] as number);
          }
          const row = laterUnknowns[r] as number;
          right[row] = (right[row] as number) - factor * known;
        }
        first += count;
      }
      for (let p = size - 1; p >= 0; p--) {
        const count = counts[p] as number;
        first -= count;
        const unknown = unknowns[p] as number;
        let sum = right[unknown] as number;
        for (let c = first; c < first + count; c++) {
          sum -= (values[inRow[c] as number] as number) * (right[laterUnknowns[c] as number] as number);
        }
        right[unknown] = sum / (values[own[p] as number] as number);
      }
    },
  };
}
