/** How a sensor measures, its certificate and how far off it may be, in words for the report. */
import type { SensorSetup } from '../core/plan/kiln.ts';
import { correctionAt } from '../core/thermometry/calibration.ts';
import { instrumentationOf } from '../core/thermometry/instrumentation.ts';
import type { Instrumentation } from '../core/thermometry/measurement.ts';
import { type Budget, budgetOf } from '../core/thermometry/uncertainty.ts';

/** The hottest that the sensor showed, as the record has it. */
export interface PeakOf {
  readonly celsius: number;
  readonly atMs: number;
  readonly uncertaintyC: number | null;
}

/** How the parts of the budget are put together; GUM, see thermometry/uncertainty.ts. */
const COMBINED =
  'limits divided by √3, a certificate’s figure by 2, the root of the sum of their squares, times 2 (k = 2, about 95 of 100)';
/** The same figure but for rounding. */
const SAME_C = 0.05;

/** @param peak undefined where the sensor told no temperature */
export function sensorStatement(setup: SensorSetup, peak: PeakOf | undefined): string {
  const { name, letter, rules } = setup;
  const head = `${name}: type ${letter} thermocouple${rules ? ', which steers the plan' : ''}.`;
  const prepared = instrumentationOf(setup);
  if (!prepared.ok) return `${head} ${prepared.sentence}`;
  const by = prepared.instrumentation;
  const parts = [head, readBy(setup, by), certificateWords(setup)];
  if (peak !== undefined) parts.push(uncertaintyWords(by, setup, peak));
  return parts.join(' ');
}

function readBy({ unit = 'C', coldEnd, straightLineMvPerC }: SensorSetup, by: Instrumentation): string {
  const figures = { C: '°C', F: '°F', K: 'kelvin', mV: 'millivolts' }[unit];
  const scale =
    unit === 'mV' || straightLineMvPerC !== undefined ? ', by the functions of NIST Monograph 175 (ITS-90)' : '';
  const line = straightLineMvPerC === undefined ? '' : ` along a straight line of ${straightLineMvPerC} mV a degree`;
  return `Wire of class ${by.wireClass} (IEC 60584-1). Read in ${figures}${line}${scale}, by: ${by.converter.what}; ${coldEndWords(coldEnd)}.`;
}

function coldEndWords(coldEnd: SensorSetup['coldEnd']): string {
  switch (coldEnd?.kind) {
    case 'measured':
      return `the terminals’ temperature was measured (${coldEnd.by}) and added as a voltage`;
    case 'fixed':
      return `the terminals were taken to be at ${coldEnd.atC} °C, give or take ${coldEnd.errorC} °C`;
    default:
      return 'the instrument adds the terminals’ temperature itself';
  }
}

function certificateWords({ calibration }: SensorSetup): string {
  if (calibration === undefined) return 'No certificate is known, so nothing is corrected.';
  const { points, dueAtMs, certificate } = calibration;
  const temperatures = points.map((point) => point.atC).sort((a, b) => a - b);
  const range = `${temperatures[0]} to ${temperatures[temperatures.length - 1]} °C`;
  const due = dueAtMs === undefined ? '' : `, valid to ${new Date(dueAtMs).toISOString().slice(0, 10)}`;
  const table = points
    .map((p) => {
      const correctionC = 'correctionC' in p ? p.correctionC : p.atC - p.asFoundC;
      return `${signed(correctionC)} at ${p.atC} (± ${p.uncertaintyC})`;
    })
    .join(', ');
  return `Corrected by certificate${certificate === undefined ? '' : ` ${certificate}`}, ${range}${due}: ${table}.`;
}

function uncertaintyWords(by: Instrumentation, { coldEnd }: SensorSetup, peak: PeakOf): string {
  const correction = by.calibration ? correctionAt(by.calibration, peak.celsius, peak.atMs) : null;
  const coldJunctionC = coldEnd?.kind === 'fixed' ? coldEnd.atC : undefined;
  const budget = budgetOf({ ...by, celsius: peak.celsius, coldJunctionC, correction });
  const made = `made of ${partsOf(budget)}: ${COMBINED}`;
  const whole = `give or take ${budget.expandedC.toFixed(1)} °C at its peak of ${peak.celsius.toFixed(1)} °C, ${made}`;
  const isAsRecorded = peak.uncertaintyC !== null && Math.abs(peak.uncertaintyC - budget.expandedC) < SAME_C;
  const remarks = correction === null || correction.sentences.length === 0 ? '' : ` ${correction.sentences.join(' ')}`;
  if (isAsRecorded || peak.uncertaintyC === null) return `Uncertainty: ${whole}.${remarks}`;
  // What an older program wrote stays what the record says.
  return `Uncertainty: the record states ${peak.uncertaintyC.toFixed(1)} °C at the peak; reckoned now it is ${whole}.${remarks}`;
}

function partsOf({ contributions }: Budget): string {
  return contributions.map(({ what, statedC }) => `${what} ± ${statedC.toFixed(1)} °C`).join(', ');
}

function signed(deltaC: number): string {
  return `${deltaC < 0 ? '−' : '+'}${Math.abs(deltaC).toFixed(1)} °C`;
}
