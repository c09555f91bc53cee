/** What it costs to make a temperature of a voltage, beside the bare published polynomial. */
import { performance } from 'node:perf_hooks';
import type { CoupleLetter } from '../../daemon/core/thermometry/its90-coefficients.ts';
import { figure, median, table } from './figures.ts';

/** The built program's parts that this needs. */
export interface BuiltThermometry {
  readonly its90: typeof import('../../daemon/core/thermometry/its90.ts');
  readonly its90Coefficients: typeof import('../../daemon/core/thermometry/its90-coefficients.ts');
  readonly coldJunction: typeof import('../../daemon/core/thermometry/cold-junction.ts');
  readonly measurement: typeof import('../../daemon/core/thermometry/measurement.ts');
  readonly converter: typeof import('../../daemon/core/thermometry/converter.ts');
}

const COUNT = 200_000;
const PASSES = 7;
const MEASURED: readonly CoupleLetter[] = ['K', 'N', 'S', 'B'];

export async function benchThermometry(built: BuiltThermometry): Promise<string> {
  return table(
    `thermometry: ${COUNT} voltages between 300 and 1000 °C; medians of ${PASSES} passes, ns each`,
    ['letter', 'inverse polynomial', '°C of mV', 'ratio', 'with cold end', 'ratio', 'with uncertainty', 'ratio'],
    MEASURED.map((letter) => row(built, letter)),
  );
}

function row(
  { its90, its90Coefficients, coldJunction, measurement, converter }: BuiltThermometry,
  letter: CoupleLetter,
) {
  const emfs = Array.from({ length: COUNT }, (_, i) => {
    const emf = its90.emfMv(letter, 300 + (700 * i) / COUNT);
    return emf.ok ? emf.emfMv : Number.NaN;
  });
  const pieces = its90Coefficients.COUPLES[letter].inverse;
  const bareNs = nsEach(emfs, (emf) => {
    const terms = (pieces.find((piece) => emf <= piece.toMv) ?? pieces[0])?.terms ?? [];
    let sumC = 0;
    for (let i = terms.length - 1; i >= 0; i--) sumC = sumC * emf + (terms[i] ?? 0);
    return sumC;
  });
  const backNs = nsEach(emfs, (emf) => {
    const back = its90.celsiusOf(letter, emf);
    return back.ok ? back.temperatureC : Number.NaN;
  });
  const coldNs = nsEach(emfs, (emf) => {
    const tip = coldJunction.tipC(letter, emf - 0.01, 23);
    return tip.ok ? tip.temperatureC : Number.NaN;
  });
  const by = { letter, wireClass: 2, converter: converter.CONVERTERS['14-bit'] } as const;
  const wholeNs = nsEach(emfs, (emf) => {
    const measured = measurement.measure({ kind: 'emf', emfMv: emf - 0.01, coldJunctionC: 23 }, by, 0);
    return measured.ok ? measured.temperatureC + measured.uncertaintyC : Number.NaN;
  });
  const beside = (ns: number): [string, string] => [figure(ns), figure(ns / bareNs)];
  return [letter, figure(bareNs), ...beside(backNs), ...beside(coldNs), ...beside(wholeNs)];
}

/** The sum is asked for, so that nothing may be left out. */
function nsEach(emfs: readonly number[], convert: (emf: number) => number): number {
  const passes = Array.from({ length: PASSES }, () => {
    const fromMs = performance.now();
    let sumC = 0;
    for (const emf of emfs) sumC += convert(emf);
    const ms = performance.now() - fromMs;
    if (!Number.isFinite(sumC)) throw new Error('A voltage of the bench was not converted.');
    return (ms * 1e6) / emfs.length;
  });
  return median(passes);
}
