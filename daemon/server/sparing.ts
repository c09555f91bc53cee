/** Limits on what somebody may fill by asking again and again: the log, and the record. */
import type { Clock } from '../runtime/clock.ts';

const minuteMs = 60_000;

/** Counts what happens under each name, and forgets all of it as each minute of real time ends. */
function minuteCount(clock: Clock, onNewMinute: () => void = () => undefined): (name: string) => number {
  const counts = new Map<string, number>();
  let beganMs = clock.realMs();
  return (name) => {
    if (clock.realMs() - beganMs >= minuteMs) {
      beganMs = clock.realMs();
      counts.clear();
      onNewMinute();
    }
    const count = (counts.get(name) ?? 0) + 1;
    counts.set(name, count);
    return count;
  };
}

/** A log that takes at most `perMinute` sentences; the next minute begins by saying how many were left out. */
export function sparingLog(
  clock: Clock,
  perMinute: number,
  log: (sentence: string) => void,
): (sentence: string) => void {
  let leftOut = 0;
  const count = minuteCount(clock, () => {
    if (leftOut > 0) log(`${leftOut} more requests were refused in the minute before.`);
    leftOut = 0;
  });
  return (sentence) => {
    if (count('') <= perMinute) log(sentence);
    else leftOut += 1;
  };
}

/** Whether this device has asked for no more than `perMinute` deeds within the minute. */
export function deedLimit(clock: Clock, perMinute: number): (device: string) => boolean {
  const count = minuteCount(clock);
  return (device) => count(device) <= perMinute;
}
