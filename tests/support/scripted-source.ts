/** A kiln for interfaces whose readings are known beforehand: a rule instead of physics. */
import type { DeviceNews, DeviceReading, DeviceSource, LidChange } from '../../simulators/device.ts';
import type { ControllerReadOut } from '../../simulators/kiln-plant.ts';

export interface ScriptedFiring {
  readonly startedAtMs: number;
  readonly sampleS: number;
  /** The last sample is taken then. */
  readonly endsAfterS: number;
  /** °C after so many seconds; null where the couple gives none, undefined where it says nothing at all. */
  readonly sensors: Readonly<Record<string, (s: number) => number | null | undefined>>;
  readonly lid?: readonly LidChange[];
  readonly controller?: (s: number) => ControllerReadOut;
}

export interface ScriptedSource extends DeviceSource {
  /** All readings of the whole firing. */
  readonly all: readonly DeviceReading[];
}

export function scriptedSource(firing: ScriptedFiring): ScriptedSource {
  const { startedAtMs, sampleS, endsAfterS, sensors, lid = [], controller } = firing;
  const all: DeviceReading[] = [];
  for (let s = 0; s <= endsAfterS; s += sampleS) {
    for (const [sensor, at] of Object.entries(sensors)) {
      const celsius = at(s);
      if (celsius !== undefined) all.push({ atMs: startedAtMs + s * 1000, sensor, celsius });
    }
  }
  let reachedMs = Number.NEGATIVE_INFINITY;
  const since = <At extends { readonly atMs: number }>(events: readonly At[], toMs: number): At[] =>
    events.filter((event) => event.atMs > reachedMs && event.atMs <= toMs);
  return {
    all,
    step(toMs): DeviceNews {
      const news = { readings: since(all, toMs), lid: since(lid, toMs), acts: [] };
      reachedMs = Math.max(reachedMs, toMs);
      return news;
    },
    ended: () => reachedMs >= startedAtMs + endsAfterS * 1000,
    ...(controller !== undefined && {
      controller: () => controller(Math.max(0, (reachedMs - startedAtMs) / 1000)),
    }),
  };
}
