/**
 * Lumped bodies that exchange heat: the physics that all simulated kilns share.
 *
 * Each step is implicit (backward Euler) with the conductances of the step's beginning, so it is stable at any step
 * and the heat of each step adds up exactly. Only + − × ÷ and square roots are used, so that every engine gives the
 * same figures.
 */
import type { Curve } from './curve.ts';
import { sparseEquations } from './sparse-equations.ts';

/** So much of a stuff. */
export interface Mass {
  readonly massKg: number;
  readonly heatJPerKgK: Curve;
}

/** J/K, constant or that of the masses it is made of. */
export type Capacity = number | readonly Mass[];

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

/** Gas that flows through bodies in turn and carries its heat along, to the next only, unlike a link. */
export interface Stream {
  readonly through: readonly string[];
  /** Flow times heat capacity; asked at the beginning of each step. */
  readonly carriesWPerK: () => number;
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
export const ZERO_C_IN_K = 273.15;

/** Radiation between two bodies as a conductance, W/K; `areaM2` includes emissivity and view. */
export function radiationWPerK(areaM2: number, fromC: number, toC: number): number {
  const from = fromC + ZERO_C_IN_K;
  const to = toC + ZERO_C_IN_K;
  return STEFAN_BOLTZMANN * areaM2 * (from * from + to * to) * (from + to);
}

export function capacityAt(capacity: Capacity, celsius: number): number {
  if (typeof capacity === 'number') return capacity;
  let sum = 0;
  for (let i = 0; i < capacity.length; i++) {
    const mass = capacity[i] as Mass;
    sum += mass.massKg * mass.heatJPerKgK.at(celsius);
  }
  return sum;
}

/** Heat in a body above 0 °C, J. */
export function enthalpyJ(capacity: Capacity, celsius: number): number {
  if (typeof capacity === 'number') return capacity * celsius;
  return capacity.reduce((sum, mass) => sum + mass.massKg * mass.heatJPerKgK.integralTo(celsius), 0);
}

interface FinitePart {
  readonly index: number;
  readonly capacity: Capacity;
  readonly startJ: number;
}

/** A link or one stretch of a stream, its ends found. Places are -1 where an end is endless. */
interface Way {
  readonly from: number;
  readonly to: number;
  /** Rows of the ends, -1 for endless ones. */
  readonly fromRow: number;
  readonly toRow: number;
  readonly fromOwn: number;
  readonly toOwn: number;
  readonly fromCross: number;
  readonly toCross: number;
}

/** @throws RangeError where a link or stream names a body that is not there, or two bodies share a name */
export function heatBalance(
  bodies: readonly Body[],
  links: readonly Link[],
  streams: readonly Stream[] = [],
): HeatBalance {
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
  const rowOf = new Int32Array(bodies.length).fill(-1);
  bodies.forEach((b, index) => {
    if (b.capacityJPerK === 'endless') return;
    rowOf[index] = parts.length;
    parts.push({ index, capacity: b.capacityJPerK, startJ: enthalpyJ(b.capacityJPerK, b.startC) });
  });
  const row = (index: number): number => rowOf[index] as number;
  const stretches = streams.map(({ through }) =>
    through.slice(1).map((to, i) => [body(through[i] as string), body(to)] as const),
  );
  const ends = [...links.map((l) => [body(l.from), body(l.to)] as const), ...stretches.flat()];
  const ties = ends.map(([a, b]) => [row(a), row(b)] as const).filter(([a, b]) => a >= 0 && b >= 0);
  const equations = sparseEquations(parts.length, ties);
  const wayOf = ([from, to]: readonly [number, number]): Way => {
    const [fromRow, toRow] = [row(from), row(to)];
    const place = (r: number, c: number): number => (r >= 0 && c >= 0 ? equations.place(r, c) : -1);
    return {
      from,
      to,
      fromRow,
      toRow,
      fromOwn: place(fromRow, fromRow),
      toOwn: place(toRow, toRow),
      fromCross: place(fromRow, toRow),
      toCross: place(toRow, fromRow),
    };
  };
  const ways = links.map((l) => wayOf([body(l.from), body(l.to)]));
  const flows = stretches.map((s) => s.map(wayOf));
  const conductances = links.map((l) => l.conductanceWPerK);
  const ownPlaces = parts.map((_, r) => equations.place(r, r));
  const { values } = equations;
  const right = new Float64Array(parts.length);
  const throughWPerK = new Float64Array(links.length);
  const carriedWPerK = new Float64Array(streams.length);
  let inJ = 0;
  let lostJ = 0;

  const at = (array: Float64Array, i: number): number => array[i] as number;
  const add = (array: Float64Array, i: number, more: number): void => {
    array[i] = (array[i] as number) + more;
  };

  function fillBodies(durationS: number): void {
    values.fill(0);
    for (let r = 0; r < parts.length; r++) {
      const { index, capacity } = parts[r] as FinitePart;
      const celsius = at(tempsC, index);
      const perS = capacityAt(capacity, celsius) / durationS;
      values[ownPlaces[r] as number] = perS;
      right[r] = perS * celsius + at(heatW, index);
      inJ += at(heatW, index) * durationS;
    }
  }

  function fillLinks(): void {
    for (let k = 0; k < ways.length; k++) {
      const way = ways[k] as Way;
      const fromC = at(tempsC, way.from);
      const toC = at(tempsC, way.to);
      const conductance = conductances[k] as Conductance;
      const g = typeof conductance === 'number' ? conductance : conductance(fromC, toC);
      throughWPerK[k] = g;
      if (g === 0) continue;
      if (way.fromRow >= 0) add(values, way.fromOwn, g);
      if (way.toRow >= 0) add(values, way.toOwn, g);
      if (way.fromCross >= 0) {
        add(values, way.fromCross, -g);
        add(values, way.toCross, -g);
      } else if (way.fromRow >= 0) add(right, way.fromRow, g * toC);
      else if (way.toRow >= 0) add(right, way.toRow, g * fromC);
    }
  }

  function fillStreams(): void {
    for (let k = 0; k < flows.length; k++) {
      const g = (streams[k] as Stream).carriesWPerK();
      carriedWPerK[k] = g;
      if (g === 0) continue;
      const flow = flows[k] as Way[];
      for (let i = 0; i < flow.length; i++) {
        const way = flow[i] as Way;
        if (way.fromRow >= 0) add(values, way.fromOwn, g);
        if (way.toRow < 0) continue;
        if (way.fromRow >= 0) add(values, way.toCross, -g);
        else add(right, way.toRow, g * at(tempsC, way.from));
      }
    }
  }

  function bookLosses(durationS: number): void {
    for (let k = 0; k < ways.length; k++) {
      const { from, to, fromRow, toRow } = ways[k] as Way;
      if (fromRow >= 0 === toRow >= 0) continue;
      const flowJ = at(throughWPerK, k) * (at(tempsC, from) - at(tempsC, to)) * durationS;
      lostJ += fromRow >= 0 ? flowJ : -flowJ;
    }
    for (let k = 0; k < flows.length; k++) {
      const g = at(carriedWPerK, k);
      const flow = flows[k] as Way[];
      for (let i = 0; i < flow.length; i++) {
        const { from, fromRow, toRow } = flow[i] as Way;
        if (fromRow >= 0 === toRow >= 0) continue;
        const carriedJ = g * at(tempsC, from) * durationS;
        lostJ += fromRow >= 0 ? carriedJ : -carriedJ;
      }
    }
  }

  return {
    body,
    celsius: (index) => at(tempsC, index),
    heat(index, watts) {
      heatW[index] = watts;
    },
    setEndlessC(index, celsius) {
      if (row(index) >= 0) throw new RangeError('only an endless body can be set to a temperature');
      tempsC[index] = celsius;
    },
    step(durationS) {
      fillBodies(durationS);
      fillLinks();
      fillStreams();
      equations.solve(right);
      for (let r = 0; r < parts.length; r++) tempsC[(parts[r] as FinitePart).index] = at(right, r);
      bookLosses(durationS);
    },
    ledger() {
      const nowJ = parts.reduce((sum, p) => sum + enthalpyJ(p.capacity, at(tempsC, p.index)) - p.startJ, 0);
      return { inJ, storedJ: nowJ, lostJ };
    },
  };
}
