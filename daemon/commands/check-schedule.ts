/** `spyhole check-schedule FILE`: the faults of a schedule, or what it comes to and what a colleague would ask. */
import { readScheduleFile } from '../config/schedule-file.ts';
import { askAbout } from '../config/schedule-questions.ts';
import { UnreadableFileError } from '../config/yaml-file.ts';
import { type PlannedAct, peakC, type Schedule, type Segment } from '../core/plan/schedule.ts';
import { ConfigError } from '../errors.ts';

/** @returns 0 well, 1 the schedule has faults (each printed on a line), 2 the file cannot be read */
export function checkSchedule(file: string, print: (line: string) => void): 0 | 1 | 2 {
  try {
    const schedule = readScheduleFile(file);
    for (const line of [...summary(schedule), ...askAbout(schedule)]) print(line);
    return 0;
  } catch (error) {
    if (!(error instanceof ConfigError)) throw error;
    for (const line of error.message.split('\n')) print(line);
    return error instanceof UnreadableFileError ? 2 : 1;
  }
}

function summary(schedule: Schedule): string[] {
  return [
    `${schedule.name}: ${schedule.segments.length} segments, peak ${peakC(schedule)} °C, no faults.`,
    ...schedule.segments.flatMap((segment, i) => [
      `${i + 1}. ${segmentLine(segment)}`,
      ...(segment.acts ?? []).map(actLine),
    ]),
  ];
}

function segmentLine(segment: Segment): string {
  const opening = segment.opening === undefined || segment.opening === 'closed' ? '' : `, ${segment.opening}`;
  if (segment.kind === 'hold') return `hold ${segment.minutes} min${opening}`;
  const { rateCPerH } = segment;
  const pace = rateCPerH === 'flat-out' ? 'flat out' : rateCPerH === 'let-fall' ? 'let it fall' : `${rateCPerH} °C/h`;
  return `to ${segment.toC} °C, ${pace}${opening}`;
}

function actLine(act: PlannedAct): string {
  const moment = typeof act.when === 'string' ? `at its ${act.when}` : `at ${act.when.atC} °C`;
  const called = act.callMinutes ? `, called ${act.callMinutes} min before` : '';
  return `   ${moment}: ${act.do}${called}`;
}
