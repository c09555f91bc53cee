/** Where a sensor says one unit and the registers that feed it another. */
import type { Fault } from '../errors.ts';
import { faultAt, valueAt } from './faults.ts';
import type { InputShape } from './input-schema.ts';
import type { Path, Source } from './yaml-file.ts';

/** @param at the kiln's place; `shape` is one of its inputs, in which nothing was found wrong */
export function unitFaults(source: Source, at: Path, shape: InputShape, inputAt: Path): Fault[] {
  if (!('points' in shape)) return [];
  return shape.points.flatMap((point, i) => {
    const { place, unit } = unitOf(source, at, point.sensor);
    if (unit === 'mV' && (point.degrees ?? shape.degrees) !== 'C') {
      const where = [...inputAt, ...(point.degrees === undefined ? ['degrees'] : ['points', i, 'degrees'])];
      return [faultAt(source, where, 'leave it out for a sensor in mV', 'its sensor gives millivolts')];
    }
    if (unit === 'mV' || unit === 'C' || unit === '°C' || unit === undefined) return [];
    const right = 'leave it out, and write degrees: F or degrees: K where its register is';
    return [faultAt(source, [...place, 'unit'], right, 'it is read from registers, which have degrees of their own')];
  });
}

function unitOf(source: Source, at: Path, sensor: string | undefined): { place: Path; unit: unknown } {
  const sensors = valueAt(source.value, [...at, 'sensors']);
  const index = Array.isArray(sensors) ? sensors.findIndex((s: unknown) => valueAt(s, ['name']) === sensor) : -1;
  const place = [...at, 'sensors', index];
  return { place, unit: index < 0 ? undefined : valueAt(source.value, [...place, 'unit']) };
}
