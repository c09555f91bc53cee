/** A firing that is over, behind an interface: its last values stand there to be read. */
import { simulatedClock } from '../../daemon/runtime/clock.ts';
import { type Behind, type RunningBehind, runBehind } from '../../simulators/behind-interface.ts';
import { scriptedSource } from './scripted-source.ts';

/** Of these `shelf` ends at 648.25, `top` has no value, `cold` is below zero. */
export const FINISHED_SENSORS = ['shelf', 'top', 'cold'];

export async function finishedFiring(behinds: readonly Behind[]): Promise<RunningBehind> {
  const clock = simulatedClock(3600);
  const source = scriptedSource({
    startedAtMs: clock.nowMs(),
    sampleS: 10,
    endsAfterS: 600,
    sensors: { shelf: (s) => 348.25 + s / 2, top: () => null, cold: () => -12.34 },
    controller: () => ({ setpointC: 660, outputRatio: 0.25, shownC: 651, segment: 1 }),
  });
  const running = await runBehind(source, behinds, clock);
  await running.done;
  return running;
}
