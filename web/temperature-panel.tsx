/** The temperature of the sensor that steers the plan, to be read from three metres, or what covers it. */
import type { KilnView } from './dashboard-state.ts';
import { celsius, degrees, deviation, duration, timeOfDay } from './format.ts';
import type { Liveness } from './liveness.ts';
import { unit } from './unit.ts';
import { live, watch } from './wording.ts';

interface TemperaturePanelProps {
  readonly kiln: KilnView;
  readonly liveness: Liveness;
  readonly utcOffsetMinutes: number;
  /** The first line speaks of another kiln: this number must not be taken for its. */
  readonly isNamed: boolean;
}

export function TemperaturePanel({ kiln, liveness, utcOffsetMinutes, isNamed }: TemperaturePanelProps) {
  const { now } = kiln;
  const reading = now.readings.find((one) => one.sensor === now.rulingSensor);
  const others = now.readings.filter((one) => one.sensor !== now.rulingSensor);
  const value = reading?.celsius ?? null;
  const isCovered = liveness.kind === 'not-live' || liveness.kind === 'no-reading' || liveness.kind === 'waiting';
  const { position } = now;
  return (
    <section class="temperature" data-live={liveness.kind} aria-label={`${now.name}, ${now.rulingSensor}`}>
      {isNamed && <p class="whose">{now.name}</p>}
      {isCovered ? (
        <p class="cover">
          <strong>{coverWord(liveness)}</strong>
          {value !== null && reading !== undefined && (
            <span>{live.lastKnown(celsius(value), timeOfDay(reading.atMs, utcOffsetMinutes))}</span>
          )}
        </p>
      ) : (
        <p class="figure">
          <span class="digits">{value === null ? '–' : degrees(value)}</span>
          <span class="unit">°{unit()}</span>
        </p>
      )}
      <p class="under">
        <span class="age">{ageWord(liveness)}</span>
        {!isCovered && position?.plannedC != null && (
          <span class="plan-wants">
            {watch.planWants(celsius(position.plannedC))}
            {position.deviationC !== null && `, ${deviation(position.deviationC)}`}
          </span>
        )}
      </p>
      {reading !== undefined && reading.quality !== 'good' && reading.reason !== undefined && (
        <p class="doubt">{reading.reason}</p>
      )}
      {others.length > 0 && liveness.kind !== 'not-live' && (
        <ul class="others">
          {others.map((one) => (
            <li key={one.sensor}>
              {one.sensor} <b>{one.celsius === null ? '–' : celsius(one.celsius)}</b>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

function coverWord(liveness: Liveness): string {
  if (liveness.kind !== 'no-reading') return liveness.kind === 'waiting' ? live.waiting : live.notLive;
  return liveness.ageS === null ? live.noReadingYet : live.noReadingFor(duration(liveness.ageS));
}

function ageWord(liveness: Liveness): string {
  switch (liveness.kind) {
    case 'live':
      return live.age(duration(liveness.ageS));
    case 'grey':
    case 'not-live':
      return live.grey(duration(liveness.silentS));
    case 'no-reading':
    case 'waiting':
      return '';
  }
}
