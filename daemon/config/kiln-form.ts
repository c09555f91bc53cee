/** What may be changed of a kiln by hand, as it is set up now. */
import type { Decoding, SensorSetup } from '../core/plan/kiln.ts';
import type { InputForm, KilnForm, SensorForm, SpotForm } from '../wire/setup.ts';
import type { HostPort } from './host-port.ts';
import type { InputConfig, KilnConfig } from './load.ts';
import type { ModbusBlock } from './modbus-input.ts';

export function formOf({ kiln, inputs }: KilnConfig): KilnForm {
  const { id, name, heat, closure, decodings } = kiln;
  const sensors = kiln.sensors.map((sensor) => sensorForm(sensor, decodings, inputs));
  return { id, name, heat, closure, inputs: inputs.map(inputForm), sensors };
}

function inputForm(input: InputConfig): InputForm {
  switch (input.kind) {
    case 'serial':
      return { kind: input.kind, port: input.port, baud: input.baud };
    case 'tcp':
      return { kind: input.kind, address: written(input) };
    case 'mqtt':
      return { kind: input.kind, url: input.url };
    case 'modbus-rtu': {
      const { at } = input;
      // A box that hands the bytes through has a speed of its own.
      if ('host' in at) return { kind: input.kind, port: written(at), baud: 9600, parity: 'none' };
      return { kind: input.kind, port: at.port, baud: at.baud, parity: at.parity };
    }
    case 'modbus-tcp':
      return { kind: input.kind, address: written(input.at) };
  }
}

function written({ host, port }: HostPort): string {
  return host.includes(':') ? `[${host}]:${port}` : `${host}:${port}`;
}

function sensorForm(
  sensor: SensorSetup,
  decodings: KilnConfig['kiln']['decodings'],
  inputs: readonly InputConfig[],
): SensorForm {
  const point = Object.values(decodings)
    .flatMap((one) => (one.kind === 'registers' ? one.points : []))
    .find(({ gives }) => gives.kind === 'sensor' && gives.sensor === sensor.name);
  return {
    was: sensor.name,
    name: sensor.name,
    letter: sensor.letter as SensorForm['letter'],
    unit: sensor.unit ?? point?.degrees ?? 'C',
    correction: correctionOf(sensor),
    register: point === undefined ? null : { type: point.type, order: point.order, scale: point.scale },
    spot: inputs.map((input) => spotIn(input, decodings[input.name], sensor.name)).find((one) => one !== null) ?? null,
  };
}

/** Where this input says the sensor's figure; null where it does not, or no field could say it. */
function spotIn(input: InputConfig, decoding: Decoding | undefined, sensor: string): SpotForm | null {
  switch (decoding?.kind) {
    case 'columns': {
      const { columns } = decoding;
      const at = columns.indexOf(sensor);
      return at < 0 || columns.length === 1 ? null : { kind: 'column', column: at + 1, of: columns.length };
    }
    case 'names': {
      const name = Object.hasOwn(decoding.names, sensor) ? decoding.names[sensor] : undefined;
      return name === undefined ? null : { kind: 'name', name };
    }
    case 'topics': {
      const point = decoding.points.find(({ gives }) => gives === sensor);
      return point === undefined ? null : { kind: 'topic', topic: point.topic, path: point.path ?? '' };
    }
    case 'registers': {
      const point = decoding.points.find(({ gives }) => gives.kind === 'sensor' && gives.sensor === sensor);
      if (point === undefined || !('blocks' in input)) return null;
      const block = input.blocks.find(({ channel }) => channel === point.channel);
      return block === undefined ? null : registerSpot(block, point.place + input.base);
    }
    default:
      return null;
  }
}

function registerSpot({ unit, functionCode, address }: ModbusBlock, beyond: number): SpotForm {
  return { kind: 'register', unit, register: address + beyond, table: functionCode === 3 ? 'holding' : 'input' };
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
