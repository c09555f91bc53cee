/** The same kiln with its sensors under other names: a firing keeps those with which it began. */
import type { Decoding, KilnSetup } from './kiln.ts';

interface Named {
  readonly name: string;
}

type Renaming = ReadonlyMap<string, string>;

/**
 * Sensors that stand in the same places of the list under names that were not there before.
 * Where the lists are not of one length, or only their order has changed, nothing is taken for renamed.
 *
 * @returns the new name of each, by its old one
 */
export function renamedSensors(before: readonly Named[], after: readonly Named[]): Renaming {
  if (before.length !== after.length) return new Map();
  const old = new Set(before.map(({ name }) => name));
  const kept = new Set(after.map(({ name }) => name));
  return new Map(
    before.flatMap(({ name }, i) => {
      const now = after[i]?.name;
      return now === undefined || old.has(now) || kept.has(name) ? [] : [[name, now] as const];
    }),
  );
}

/** `now` as it is for a firing that began with the sensors of `firing`. */
export function withNamesOf(firing: KilnSetup, now: KilnSetup): KilnSetup {
  const renamed = renamedSensors(now.sensors, firing.sensors);
  if (renamed.size === 0) return now;
  const decodings = Object.entries(now.decodings).map(([input, one]) => [input, renamedIn(one, renamed)] as const);
  return {
    ...now,
    sensors: now.sensors.map((sensor) => ({ ...sensor, name: renamed.get(sensor.name) ?? sensor.name })),
    decodings: Object.fromEntries(decodings),
  };
}

function renamedIn(decoding: Decoding, renamed: Renaming): Decoding {
  const as = (name: string): string => renamed.get(name) ?? name;
  switch (decoding.kind) {
    case 'columns':
      return { ...decoding, columns: decoding.columns.map(as) };
    case 'names':
      return { ...decoding, names: keysAs(decoding.names, as) };
    case 'pattern':
      return { ...decoding, pattern: patternAs(decoding.pattern, renamed) };
    case 'channels':
      return {
        ...decoding,
        channels: Object.fromEntries(Object.entries(decoding.channels).map(([channel, name]) => [channel, as(name)])),
      };
    case 'topics':
      return { ...decoding, points: decoding.points.map((point) => ({ ...point, gives: as(point.gives) })) };
    case 'registers':
      return {
        ...decoding,
        points: decoding.points.map((point) =>
          point.gives.kind === 'sensor'
            ? { ...point, gives: { kind: 'sensor' as const, sensor: as(point.gives.sensor) } }
            : point,
        ),
      };
  }
}

function keysAs<T>(record: Readonly<Record<string, T>>, as: (name: string) => string): Record<string, T> {
  return Object.fromEntries(Object.entries(record).map(([name, value]) => [as(name), value]));
}

/** `T1: {shelf} C` with another name in the braces. */
export function patternAs(pattern: string, renamed: Renaming): string {
  return pattern.replace(/\{([^{}]*)\}/g, (whole, name: string) => {
    const now = renamed.get(name.trim());
    return now === undefined ? whole : `{${name.replace(name.trim(), () => now)}}`;
  });
}
