/** The degrees in which an instrument gives its figures. */
import { celsiusFromF, celsiusFromK } from '../numbers/units.ts';
import type { Degrees } from '../plan/kiln.ts';

/** Rounded to a millionth of a degree, so that 1000 °F is the same number wherever it is reckoned. */
export function inCelsius(figure: number, degrees: Degrees): number {
  switch (degrees) {
    case 'C':
      return figure;
    case 'F':
      return tidyC(celsiusFromF(figure));
    case 'K':
      return tidyC(celsiusFromK(figure));
  }
}

function tidyC(celsius: number): number {
  return Number(celsius.toFixed(6));
}
