/**
 * Lumped bodies that exchange heat: the physics that all simulated kilns share.
 *
 * Each step is implicit (backward Euler) with the conductances of the step's beginning, so it is stable at any step
 * and the heat of each step adds up exactly. Only + − × ÷ and square roots are used, so that every engine gives the
 * same figures.
 */

/** J/K, constant or growing evenly with the temperature in °C. */
export type Capacity = number | { readonly atZeroJPerK: number; readonly growthJPerK2: number };

export interface Body {
  readonly name: string;
  readonly startC: number;
  /** `'endless'` keeps its temperature whatever it takes: the room, a bath. */
  readonly capacityJPerK: Capacity | 'endless';
}

/** W/K, constant or from the temperatures in °C of its two ends. */
export type Conductance = number | ((fromC: number, toC: number) => number);

export interface Link {
  readonly from: string;
  readonly to: string;
  readonly conductanceWPerK: Conductance;
}

/** Joules since the beginning. `inJ` = `storedJ` + `lostJ`, as far as the arithmetic is honest. */
export interface HeatLedger {
  readonly inJ: number;
  /** From the bodies' temperatures at the beginning and now, not from the sum of the steps. */
  readonly storedJ: number;
  /** Into endless bodies. */
  readonly lostJ: number;
}

export interface HeatBalance {
  /** Index of a body, for `celsius` and `heat`; throws RangeError for a name that is not there. */
  body(name: string): number;
  celsius(body: number): number;
  /** Watts put into a body until it is set anew. */
  heat(body: number, watts: number): void;
  /** Moves a body's temperature by force: a room that cools at night, an endless body only. */
  setEndlessC(body: number, celsius: number): void;
  step(durationS: number): void;
  ledger(): HeatLedger;
}

/** Stefan and Boltzmann's constant, W/(m² K⁴); CODATA 2018, from memory. */
export const STEFAN_BOLTZMANN = 5.670374419e-8;
const ZERO_C_IN_K = 273.15;

/** Radiation between two bodies as a conductance, W/K; `areaM2` includes emissivity and view. */
export function radiationWPerK(areaM2: number, fromC: number, toC: number): number {
  const from = fromC + ZERO_C_IN_K;
  const to = toC + ZERO_C_IN_K;
  return STEFAN_BOLTZMANN * areaM2 * (from * from + to * to) * (from + to);
}

export function capacityAt(capacity: Capacity, celsius: number): number {
  return typeof capacity === 'number' ? capacity : capacity.atZeroJPerK + capacity.growthJPerK2 * celsius;
}

/** Heat in a body above 0 °C, J. */
export function enthalpyJ(capacity: Capacity, celsius: number): number {
  if (typeof capacity === 'number') return capacity * celsius;
  return (capacity.atZeroJPerK + (capacity.growthJPerK2 / 2) * celsius) * celsius;
}

interface FinitePart {
  readonly index: number;
  readonly capacity: Capacity;
  readonly startJ: number;
}

/** @throws RangeError where a link names a body that is not there, or two bodies share a name */
export function heatBalance(bodies: readonly Body[], links: readonly Link[]): HeatBalance {
  const indexOf = new Map(bodies.map((b, i) => [b.name, i]));
  if (indexOf.size !== bodies.length) throw new RangeError('two bodies of the heat balance have the same name');
  const body = (name: string): number => {
    const found = indexOf.get(name);
    if (found === undefined) throw new RangeError(`the heat balance has no body "${name}"`);
    return found;
  };

  const tempsC = Float64Array.from(bodies, (b) => b.startC);
  const heatW = new Float64Array(bodies.length);
  const parts: FinitePart[] = [];
  // Row of a body in the equations; -1 for endless bodies.
  const rowOf = new Int32Array(bodies.length).fill(-1);
  bodies.forEach((b, index) => {
    if (b.capacityJPerK === 'endless') return;
    rowOf[index] = parts.length;
    parts.push({ index, capacity: b.capacityJPerK, startJ: enthalpyJ(b.capacityJPerK, b.startC) });
  });
  const size = parts.length;
  const ends = links.map((l) => ({ from: body(l.from), to: body(l.to), conductance: l.conductanceWPerK }));
  const matrix = new Float64Array(size * size);
  const right = new Float64Array(size);
  const throughWPerK = new Float64Array(ends.length);
  let inJ = 0;
  let lostJ = 0;

  const at = (array: Float64Array | Int32Array, i: number): number => array[i] as number;

  function fillEquations(durationS: number): void {
    matrix.fill(0);
    parts.forEach((part, row) => {
      const celsius = at(tempsC, part.index);
      const perS = capacityAt(part.capacity, celsius) / durationS;
      matrix[row * size + row] = perS;
      right[row] = perS * celsius + at(heatW, part.index);
      inJ += at(heatW, part.index) * durationS;
    });
    for (let k = 0; k < ends.length; k++) {
      const link = ends[k] as (typeof ends)[number];
      const fromC = at(tempsC, link.from);
      const toC = at(tempsC, link.to);
      const g = typeof link.conductance === 'number' ? link.conductance : link.conductance(fromC, toC);
      throughWPerK[k] = g;
      const from = at(rowOf, link.from);
      const to = at(rowOf, link.to);
      if (from >= 0) matrix[from * size + from] = at(matrix, from * size + from) + g;
      if (to >= 0) matrix[to * size + to] = at(matrix, to * size + to) + g;
      if (from >= 0 && to >= 0) {
        matrix[from * size + to] = at(matrix, from * size + to) - g;
        matrix[to * size + from] = at(matrix, to * size + from) - g;
      } else if (from >= 0) right[from] = at(right, from) + g * toC;
      else if (to >= 0) right[to] = at(right, to) + g * fromC;
    }
  }

  function bookLosses(durationS: number): void {
    for (let k = 0; k < ends.length; k++) {
      const { from, to } = ends[k] as (typeof ends)[number];
      const out = at(rowOf, from) >= 0 && at(rowOf, to) < 0;
      const back = at(rowOf, from) < 0 && at(rowOf, to) >= 0;
      if (!out && !back) continue;
      const flowJ = at(throughWPerK, k) * (at(tempsC, from) - at(tempsC, to)) * durationS;
      lostJ += out ? flowJ : -flowJ;
    }
  }

  return {
    body,
    celsius: (index) => at(tempsC, index),
    heat(index, watts) {
      heatW[index] = watts;
    },
    setEndlessC(index, celsius) {
      if (at(rowOf, index) >= 0) throw new RangeError('only an endless body can be set to a temperature');
      tempsC[index] = celsius;
    },
    step(durationS) {
      fillEquations(durationS);
      solveSymmetric(matrix, right, size);
      parts.forEach((part, row) => {
        tempsC[part.index] = at(right, row);
      });
      bookLosses(durationS);
    },
    ledger() {
      const nowJ = parts.reduce((sum, p) => sum + enthalpyJ(p.capacity, at(tempsC, p.index)) - p.startJ, 0);
      return { inJ, storedJ: nowJ, lostJ };
    },
  };
}

/**
 * Solves the symmetric positive equations in place; the answer is left in `right`. Elimination without pivoting is
 * safe since each diagonal outweighs its row. Zeros are skipped: a wall touches only its neighbours.
 */
function solveSymmetric(matrix: Float64Array, right: Float64Array, size: number): void {
  for (let col = 0; col < size; col++) {
    const pivot = matrix[col * size + col] as number;
    for (let row = col + 1; row < size; row++) {
      const below = matrix[row * size + col] as number;
      if (below === 0) continue;
      const factor = below / pivot;
      for (let k = col + 1; k < size; k++) {
        matrix[row * size + k] = (matrix[row * size + k] as number) - factor * (matrix[col * size + k] as number);
      }
      right[row] = (right[row] as number) - factor * (right[col] as number);
    }
  }
  for (let row = size - 1; row >= 0; row--) {
    let sum = right[row] as number;
    for (let k = row + 1; k < size; k++) sum -= (matrix[row * size + k] as number) * (right[k] as number);
    right[row] = sum / (matrix[row * size + row] as number);
  }
}
