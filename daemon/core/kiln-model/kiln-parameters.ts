/** The parameters of a kiln as a fit searches them: logarithms, so that none can become negative, and what is likely. */
import { GAS_FLAME_C, type KilnModel } from './kiln-model.ts';

/** In the order of the fit's vector. `lossGrowth` is the hot loss as a multiple of the cold one. */
export const PARAMETERS = [
  'powerCPerH',
  'lossColdPerH',
  'lossGrowth',
  'exchangePerH',
  'wallRatio',
  'heatLagS',
  'sensorLagS',
  'settingPower',
  'glowS',
] as const;

export type ParameterName = (typeof PARAMETERS)[number];

export const PARAMETER_COUNT = PARAMETERS.length;

/** What is believed of a logarithm before any reading: its middle and its standard deviation. */
export interface Belief {
  readonly middle: number;
  readonly sigma: number;
}

export interface FitSetting {
  readonly heat: 'gas' | 'electric';
  /** What the setting's figure is: heat grows with its square where it is a voltage, nearly with itself at a valve. */
  readonly setting: 'proportional' | 'valve' | 'voltage';
}

const ln = Math.log;

/**
 * Weak beliefs that keep a fit sane where the readings tell nothing: each leaves room for several times more or less.
 * They scale with how long the runs last, since a laboratory plate and a brick kiln differ a thousandfold in pace.
 * Figures from memory.
 *
 * @param spanS length of the longest run
 * @param steepestCPerH steepest climb seen
 */
export function beliefs(setting: FitSetting, spanS: number, steepestCPerH: number): Belief[] {
  const spanH = spanS / 3600;
  const isKiln = spanS > 2 * 3600;
  const heatLagS = isKiln ? 150 : spanS / 60;
  const sensorLagS = isKiln ? 60 : spanS / 150;
  return [
    { middle: ln(1.5 * steepestCPerH), sigma: 1.5 },
    { middle: ln(1 / spanH), sigma: 1.5 },
    { middle: ln(2), sigma: 0.7 },
    { middle: ln(4 / spanH), sigma: 1.5 },
    { middle: ln(2), sigma: 1.2 },
    { middle: ln(heatLagS), sigma: 1 },
    { middle: ln(sensorLagS), sigma: 1 },
    settingBelief(setting),
    { middle: ln(isKiln ? 20 : spanS / 600), sigma: 1.2 },
  ];
}

/** A figure that is known is held to a thousandth. */
function settingBelief({ setting }: FitSetting): Belief {
  switch (setting) {
    case 'proportional':
      return { middle: 0, sigma: 0.001 };
    case 'valve':
      return { middle: 0, sigma: 0.25 };
    case 'voltage':
      return { middle: ln(2), sigma: 0.4 };
  }
}

export function modelOf(logs: ArrayLike<number>, heat: 'gas' | 'electric'): KilnModel {
  const at = (index: number): number => Math.exp(logs[index] ?? 0);
  return {
    powerCPerH: at(0),
    lossColdPerH: at(1),
    lossHotPerH: at(1) * at(2),
    exchangePerH: at(3),
    wallRatio: at(4),
    heatLagS: at(5),
    sensorLagS: at(6),
    settingPower: at(7),
    glowS: at(8),
    flameC: heat === 'gas' ? GAS_FLAME_C : Number.POSITIVE_INFINITY,
  };
}

export function logsOf(model: KilnModel): number[] {
  return [
    ln(model.powerCPerH),
    ln(model.lossColdPerH),
    ln(model.lossHotPerH / model.lossColdPerH),
    ln(model.exchangePerH),
    ln(model.wallRatio),
    ln(model.heatLagS),
    ln(model.sensorLagS),
    ln(model.settingPower),
    ln(model.glowS),
  ];
}
