/** What a fault does to the simulated world, as data; how it is done, and how it is undone. */
import type { EdgeNews } from '../../daemon/core/inputs.ts';
import type { ClockFault, Instrument, LineFault } from '../instrument.ts';
import type { KilnPlant, Mishap, Turn } from '../kiln-plant.ts';
import type { SensorFault } from '../sensor-faults.ts';
import type { Couple } from '../thermocouple.ts';

export type Effect =
  /** It befalls the kiln; where a share changes, over `overS` seconds. */
  | { readonly on: 'kiln'; readonly mishap: Mishap; readonly overS?: number }
  /** The ruling couple, unless another sensor is named; `others`: all but the ruling one. */
  | { readonly on: 'couple'; readonly sensor?: string; readonly others?: boolean; readonly fault: SensorFault }
  | { readonly on: 'line'; readonly fault: LineFault }
  | { readonly on: 'clock'; readonly fault: ClockFault }
  /** Somebody opens door or lid so far, and shuts it again when the fault ends. */
  | { readonly on: 'door'; readonly openRatio: number }
  /** Somebody turns something, without the painter's knowledge. */
  | { readonly on: 'somebody'; readonly turn: Turn; readonly back?: Turn }
  /** The daemon's own disk. */
  | { readonly on: 'disk'; readonly sentence: string; readonly missing: number }
  /** It lies in the kiln's or the programme's nature: only the truth is told. */
  | { readonly on: 'nature' };

export interface World {
  readonly plant: KilnPlant;
  readonly instrument: Instrument;
  readonly rulingSensor: string;
  /** Of the programme: its number ends it. */
  readonly segmentCount: number;
  openDoor(ratio: number): void;
  edge(news: EdgeNews): void;
}

const MENDED: Readonly<Record<Mishap['kind'], Mishap | null>> = {
  leak: { kind: 'leak', kgPerS: 0 },
  room: null,
  bottle: { kind: 'bottle', ratio: 1 },
  burner: { kind: 'burner', ratio: 1 },
  'flame-out': null,
  'valve-stuck': { kind: 'valve-stuck', stuck: false },
  'damper-slips': null,
  mains: { kind: 'mains', voltageRatio: 1 },
  element: null,
  relay: { kind: 'relay', state: 'works' },
  'controller-couple': { kind: 'controller-couple', state: { is: 'good' } },
};

/** A mishap that has come so far, from whole (1, or no leak) to all of it. */
function part(mishap: Mishap, share: number): Mishap {
  const toward = (ratio: number): number => 1 - (1 - ratio) * share;
  switch (mishap.kind) {
    case 'bottle':
    case 'burner':
    case 'element':
      return { ...mishap, ratio: toward(mishap.ratio) };
    case 'mains':
      return { ...mishap, voltageRatio: toward(mishap.voltageRatio) };
    case 'leak':
      return { ...mishap, kgPerS: mishap.kgPerS * share };
    case 'room':
    case 'flame-out':
    case 'valve-stuck':
    case 'damper-slips':
    case 'relay':
    case 'controller-couple':
      return mishap;
  }
}

function isMeant(effect: { sensor?: string; others?: boolean }, couple: Couple, world: World): boolean {
  if (effect.others === true) return couple.sensor !== world.rulingSensor;
  return couple.sensor === (effect.sensor ?? world.rulingSensor);
}

export function beginEffect(effect: Effect, world: World): void {
  switch (effect.on) {
    case 'kiln':
      world.plant.suffer(part(effect.mishap, effect.overS === undefined ? 1 : 0));
      return;
    case 'couple':
      for (const couple of world.instrument.couples) if (isMeant(effect, couple, world)) couple.suffer(effect.fault);
      return;
    case 'line':
      world.instrument.sufferLine(effect.fault);
      return;
    case 'clock':
      world.instrument.sufferClock(effect.fault);
      return;
    case 'door':
      world.openDoor(effect.openRatio);
      return;
    case 'somebody':
      world.plant.turn(
        effect.turn.control === 'programme'
          ? { ...effect.turn, segment: Math.min(effect.turn.segment, world.segmentCount) }
          : effect.turn,
      );
      return;
    case 'disk':
      world.edge({ edge: 'record-lost', sentence: effect.sentence });
      return;
    case 'nature':
      return;
  }
}

/** Once a second while it lasts. */
export function growEffect(effect: Effect, world: World, ranS: number): void {
  if (effect.on !== 'kiln' || effect.overS === undefined || ranS > effect.overS) return;
  world.plant.suffer(part(effect.mishap, Math.min(1, ranS / effect.overS)));
}

export function endEffect(effect: Effect, world: World): void {
  switch (effect.on) {
    case 'kiln': {
      const { mishap } = effect;
      const mended = mishap.kind === 'element' ? { ...mishap, ratio: 1 } : MENDED[mishap.kind];
      if (mended !== null) world.plant.suffer(mended);
      return;
    }
    case 'couple':
      for (const couple of world.instrument.couples) if (isMeant(effect, couple, world)) couple.mend(effect.fault.kind);
      return;
    case 'line':
      world.instrument.mendLine(effect.fault.kind);
      return;
    case 'clock':
      world.instrument.sufferClock(null);
      return;
    case 'door':
      world.openDoor(0);
      return;
    case 'somebody':
      if (effect.back !== undefined) world.plant.turn(effect.back);
      return;
    case 'disk':
      world.edge({ edge: 'record-back', missing: effect.missing });
      return;
    case 'nature':
      return;
  }
}

/** The same effect half as bad (0.5) or worse (above 1); what is all or nothing stays as it is. */
export function weakened(effect: Effect, strengthRatio: number): Effect {
  const least0 = (ratio: number): number => Math.max(0, 1 - (1 - ratio) * strengthRatio);
  const most1 = (ratio: number): number => Math.min(1, ratio * strengthRatio);
  if (effect.on === 'door') return { ...effect, openRatio: most1(effect.openRatio) };
  if (effect.on === 'couple') return { ...effect, fault: weakenedCouple(effect.fault, strengthRatio, most1) };
  if (effect.on !== 'kiln') return effect;
  const { mishap } = effect;
  switch (mishap.kind) {
    case 'leak':
      return { ...effect, mishap: { ...mishap, kgPerS: mishap.kgPerS * strengthRatio } };
    case 'bottle':
    case 'burner':
    case 'element':
      return { ...effect, mishap: { ...mishap, ratio: mishap.ratio === 0 ? 0 : least0(mishap.ratio) } };
    case 'mains':
      return {
        ...effect,
        mishap: { ...mishap, voltageRatio: mishap.voltageRatio === 0 ? 0 : least0(mishap.voltageRatio) },
      };
    case 'damper-slips':
      return { ...effect, mishap: { ...mishap, openRatio: most1(mishap.openRatio) } };
    case 'room':
    case 'flame-out':
    case 'valve-stuck':
    case 'relay':
    case 'controller-couple':
      return effect;
  }
}

function weakenedCouple(fault: SensorFault, strengthRatio: number, most1: (ratio: number) => number): SensorFault {
  switch (fault.kind) {
    case 'jump':
      return { ...fault, byC: fault.byC * strengthRatio };
    case 'drift':
      return { ...fault, cPerH: fault.cPerH * strengthRatio };
    case 'noisy':
      return { ...fault, noiseC: fault.noiseC * strengthRatio };
    case 'slipped':
    case 'shorted':
      return { ...fault, outRatio: most1(fault.outRatio) };
    case 'open-circuit':
    case 'intermittent':
    case 'reversed':
    case 'frozen':
    case 'out-of-range':
    case 'sentinel':
    case 'cold-junction':
      return fault;
  }
}
