/** What may be changed of a kiln by hand, as it is set up now. */
import type { RegisterPoint, SensorSetup } from '../core/plan/kiln.ts';
import type { KilnForm, SensorForm } from '../wire/setup.ts';
import type { KilnConfig } from './load.ts';

export function formOf({ kiln }: KilnConfig): KilnForm {
  const { id, name, heat, closure } = kiln;
  const points = Object.values(kiln.decodings).flatMap((one) => (one.kind === 'registers' ? one.points : []));
  return { id, name, heat, closure, sensors: kiln.sensors.map((sensor) => sensorForm(sensor, points)) };
}

function sensorForm(sensor: SensorSetup, points: readonly RegisterPoint[]): SensorForm {
  const point = points.find(({ gives }) => gives.kind === 'sensor' && gives.sensor === sensor.name);
  return {
    name: sensor.name,
    letter: sensor.letter as SensorForm['letter'],
    unit: sensor.unit ?? point?.degrees ?? 'C',
    correction: correctionOf(sensor),
    register: point === undefined ? null : { type: point.type, order: point.order, scale: point.scale },
  };
}

/** One point can be shown in three fields; a whole certificate stands in the file. */
function correctionOf({ calibration }: SensorSetup): SensorForm['correction'] {
  if (calibration === undefined) return null;
  const [point, ...more] = calibration.points;
  const isPlain = calibration.dueAtMs === undefined && calibration.certificate === undefined;
  if (point === undefined || more.length > 0 || 'asFoundC' in point || !isPlain) return 'certificate';
  const { atC, correctionC, uncertaintyC } = point;
  return { atC, correctionC, uncertaintyC };
}
