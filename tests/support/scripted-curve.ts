/** A made-up kiln that follows any schedule nearly, the same way each time: what the scripted desk shows. */
import type { PlanPoint } from '../../daemon/core/events.ts';
import type { Schedule, Segment } from '../../daemon/core/plan/schedule.ts';

const roomC = 20;
/** A kiln let alone: 4 °C a minute at 660 °C; the figure is that of the workshop's third walk. */
const fallTimeConstantS = 9600;
const flatOutCPerH = 400;
/** A sheathed couple shows everything one to three minutes late (common practice, no source). */
const coupleLagS = 90;

/** One segment laid on the clock: seconds from the firing's start. */
export interface Span {
  readonly segment: number;
  readonly fromS: number;
  readonly toS: number;
  readonly fromC: number;
  readonly toC: number;
  readonly letFall: boolean;
}

export function layOut(schedule: Schedule, startC: number): readonly Span[] {
  const spans: Span[] = [];
  let atS = 0;
  let atC = startC;
  for (const [index, segment] of schedule.segments.entries()) {
    const toC = segment.kind === 'ramp' ? segment.toC : atC;
    const toS = atS + durationS(segment, atC);
    const letFall = segment.kind === 'ramp' && segment.rateCPerH === 'let-fall';
    spans.push({ segment: index, fromS: atS, toS, fromC: atC, toC, letFall });
    atS = toS;
    atC = toC;
  }
  return spans;
}

function durationS(segment: Segment, fromC: number): number {
  if (segment.kind === 'hold') return segment.minutes * 60;
  if (segment.rateCPerH === 'let-fall') {
    return Math.max(0, fallTimeConstantS * Math.log((fromC - roomC) / Math.max(1, segment.toC - roomC)));
  }
  const rateCPerH = segment.rateCPerH === 'flat-out' ? flatOutCPerH : segment.rateCPerH;
  return (Math.abs(segment.toC - fromC) / rateCPerH) * 3600;
}

export function spanAt(spans: readonly Span[], atS: number): Span | undefined {
  return spans.find((span) => atS < span.toS);
}

export function plannedC(spans: readonly Span[], atS: number): number {
  const span = spanAt(spans, atS);
  const last = spans.at(-1);
  if (span === undefined) return last === undefined ? roomC : fallC(last.toC, atS - last.toS);
  const sinceS = Math.max(0, atS) - span.fromS;
  if (span.letFall) return fallC(span.fromC, sinceS);
  return span.fromC + ((span.toC - span.fromC) * sinceS) / Math.max(1, span.toS - span.fromS);
}

function fallC(fromC: number, sinceS: number): number {
  return roomC + (fromC - roomC) * Math.exp(-sinceS / fallTimeConstantS);
}

/** What the couple with this number (0 steers) shows: late, a little off the plan, never twice the same. */
export function measuredC(spans: readonly Span[], atS: number, couple: number): number {
  const wander = 1.6 * Math.sin(atS / 410 + couple) + 0.9 * Math.sin(atS / 97 + 2 * couple) + 0.4 * Math.sin(atS / 13);
  const glow = plannedC(spans, Math.max(0, atS - coupleLagS));
  return Math.round((glow - couple * glow * 0.012 + wander) * 10) / 10;
}

/** Seconds from the start until the plan passes a temperature within a segment; null where it does not. */
export function passesAtS(span: Span, celsius: number): number | null {
  const low = Math.min(span.fromC, span.toC);
  const high = Math.max(span.fromC, span.toC);
  if (celsius < low || celsius > high || low === high) return null;
  if (span.letFall) return span.fromS + fallTimeConstantS * Math.log((span.fromC - roomC) / (celsius - roomC));
  return span.fromS + ((celsius - span.fromC) / (span.toC - span.fromC)) * (span.toS - span.fromS);
}

/** The plan as a broken line; a fall is bent every ten minutes. */
export function planLine(spans: readonly Span[], startedAtMs: number): readonly PlanPoint[] {
  const corners: PlanPoint[] = [];
  const put = (atS: number, segment: number): void => {
    const celsius = Math.round(plannedC(spans, atS) * 10) / 10;
    corners.push({ atMs: Math.round(startedAtMs + atS * 1000), celsius, segment });
  };
  for (const [i, span] of spans.entries()) {
    // A span's first corner ends the one before it.
    put(span.fromS, Math.max(i - 1, 0));
    if (span.letFall) for (let atS = span.fromS + 600; atS < span.toS; atS += 600) put(atS, i);
  }
  const last = spans.at(-1);
  if (last !== undefined) {
    corners.push({ atMs: Math.round(startedAtMs + last.toS * 1000), celsius: last.toC, segment: spans.length - 1 });
  }
  return corners;
}

export const traceAndMatt: Schedule = {
  name: 'Trace and matt by hand, 3 mm',
  plateMm: 3,
  toleranceC: 6,
  safeOpenC: 150,
  waits: true,
  limits: [{ fromC: 100, toC: 450, maxCPerH: 300, why: 'the medium boils and the gum blisters' }],
  source: 'common practice, no source',
  segments: [
    {
      kind: 'ramp',
      toC: 450,
      rateCPerH: 200,
      opening: 'propped',
      acts: [{ when: 'end', do: 'close the vent and the door', callMinutes: 3 }],
    },
    { kind: 'ramp', toC: 660, rateCPerH: 120, acts: [{ when: { atC: 650 }, do: 'turn down', callMinutes: 5 }] },
    { kind: 'hold', minutes: 15, acts: [{ when: 'end', do: 'gas off, damper after', callMinutes: 3 }] },
    {
      kind: 'ramp',
      toC: 540,
      rateCPerH: 'let-fall',
      acts: [{ when: 'start', do: 'shut the ports, plug the spyhole', callMinutes: 1 }],
    },
    { kind: 'hold', minutes: 20 },
    { kind: 'ramp', toC: 45, rateCPerH: 'let-fall' },
  ],
};

export const enamel: Schedule = {
  name: 'Enamel 590, 6 mm',
  plateMm: 6,
  toleranceC: 5,
  safeOpenC: 150,
  source: 'common practice, no source',
  segments: [
    { kind: 'ramp', toC: 450, rateCPerH: 150 },
    { kind: 'ramp', toC: 590, rateCPerH: 180 },
    { kind: 'hold', minutes: 10 },
    { kind: 'ramp', toC: 530, rateCPerH: 'let-fall' },
    { kind: 'hold', minutes: 40 },
    { kind: 'ramp', toC: 45, rateCPerH: 'let-fall' },
  ],
};

export const silverStain: Schedule = {
  name: 'Silver stain 545, reverse side',
  plateMm: 3,
  toleranceC: 5,
  safeOpenC: 150,
  source: 'common practice, no source',
  segments: [
    { kind: 'ramp', toC: 400, rateCPerH: 200 },
    { kind: 'ramp', toC: 545, rateCPerH: 160 },
    { kind: 'hold', minutes: 12 },
    { kind: 'ramp', toC: 45, rateCPerH: 'let-fall' },
  ],
};
