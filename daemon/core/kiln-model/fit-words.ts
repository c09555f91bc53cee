/** What a fit found, in the words of the workshop, and what it could not find and why. */
import type { Estimate, EstimatedName, KilnFit } from './fit-kiln.ts';
import type { KilnTraits, Trait } from './kiln-traits.ts';

/** Sentences for a person, the surest first. */
export function fitSentences(fit: KilnFit, traits: KilnTraits, heat: 'gas' | 'electric'): string[] {
  return [
    ...(fit.estimates.bothLagsS.told === 'told' ? coastSentence(traits, heat) : []),
    ...fallSentence(traits),
    ...fullHeatSentences(fit, traits),
    ...lagSentences(fit),
  ];
}

function coastSentence({ coastC, topC, climbCPerH }: KilnTraits, heat: 'gas' | 'electric'): string[] {
  if (coastC === null || !isTold(coastC, 3)) return [];
  const down = heat === 'gas' ? 'gas down' : 'the heat is turned down';
  return [
    `Coasts ${whole(coastC)} °C after ${down} to what keeps it, out of a climb of ${climbCPerH} °C/h at ${Math.round(topC)}.`,
  ];
}

function fallSentence({ fallS, wholeFallS, seenFallToC, topC }: KilnTraits): string[] {
  if (fallS === null || !isTold(fallS, 0.3 * fallS.value)) return [];
  const half = fallS.half === null ? '' : ` ± ${hours(Math.max(fallS.half, 60))}`;
  const beyond =
    seenFallToC <= 60 || wholeFallS === null
      ? ''
      : `; to 60 °C, where it was never seen shut, perhaps ${hours(Math.round(wholeFallS.value / 900) * 900)}`;
  return [`Falls from ${Math.round(topC)} to ${seenFallToC} °C in ${hours(fallS.value)}${half}, shut${beyond}.`];
}

function fullHeatSentences(fit: KilnFit, { fullHeat, hottestC }: KilnTraits): string[] {
  const power = fit.estimates.powerCPerH;
  if (power.told === 'unknown') return [];
  const paces = fullHeat.flatMap(({ atC, paceCPerH }) =>
    paceCPerH === null || !isTold(paceCPerH, 0.3 * paceCPerH.value) ? [] : [`${whole(paceCPerH)} °C/h at ${atC}`],
  );
  if (paces.length === 0) return [];
  if (power.told === 'at-least') {
    return [
      `With the most heat that was seen for a quarter of an hour it climbs ${paces.join(' and ')}; it may have more.`,
    ];
  }
  const end = hottestC < 1000 ? `; it gets no hotter than about ${Math.round(hottestC / 10) * 10} °C` : '';
  return [`At full heat it climbs ${paces.join(' and ')}${end}.`];
}

function lagSentences({ estimates }: KilnFit): string[] {
  const { sensorLagS, heatLagS, bothLagsS } = estimates;
  if (sensorLagS.told === 'told' && heatLagS.told === 'told') {
    return [
      `Heat takes ${minutes(heatLagS)} min to come through, and the couple shows it ${minutes(sensorLagS)} min late.`,
    ];
  }
  if (bothLagsS.told === 'told')
    return [`A turn of the heat shows ${minutes(bothLagsS)} min late, brick and couple together.`];
  return [];
}

/** What the readings could not tell, and what would. */
export function unknownSentences(fit: KilnFit, traits: KilnTraits, heat: 'gas' | 'electric'): string[] {
  const { estimates, heatKnownRatio } = fit;
  const isUnknown = (name: EstimatedName): boolean => estimates[name].told === 'unknown';
  const logIt = heat === 'gas' ? 'log each turn of the valve' : 'record the controller’s output';
  const sentences: string[] = [];
  if (estimates.powerCPerH.told === 'at-least') {
    sentences.push(`How much heat it has could not be told, since nobody logged the heat: ${logIt}.`);
  } else if (isUnknown('powerCPerH')) {
    sentences.push(
      `How much heat it has could not be told: the heat was known in ${Math.round(heatKnownRatio * 100)} % of the time.`,
    );
  }
  if (isUnknown('bothLagsS')) {
    sentences.push(
      `How late heat and couple are could not be told: the moment when the heat changed was not sharp enough. ${capital(logIt)}.`,
    );
  } else if (isUnknown('sensorLagS') || isUnknown('heatLagS')) {
    sentences.push(
      'How much of that is the couple’s and how much the brick’s could not be told: both look alike from one couple.',
    );
  }
  if (isUnknown('wallRatio') || isUnknown('exchangePerH')) {
    sentences.push(
      'How much heat the wall takes and gives back could not be told: a longer fall, shut and recorded to under 100 °C, would show it.',
    );
  }
  if (isUnknown('lossHotPerH') || isUnknown('lossColdPerH')) {
    sentences.push(
      'How the loss grows with temperature could not be told: a firing to a higher peak, or its whole fall, would show it.',
    );
  }
  if (traits.coastC === null) {
    sentences.push(
      `How it coasts could not be worked out: by these numbers it never climbs ${traits.climbCPerH} °C/h at ${Math.round(traits.topC)}.`,
    );
  }
  return sentences;
}

function isTold(trait: Trait, mostHalf: number): boolean {
  return trait.half === null || trait.half <= Math.max(mostHalf, 0.35 * Math.abs(trait.value));
}

function whole({ value, half }: Trait): string {
  const plusMinus = half === null ? '' : ` ± ${Math.max(Math.round(half), 1)}`;
  return `${Math.round(value)}${plusMinus}`;
}

function minutes({ value, low, high }: Estimate): string {
  return `${(value / 60).toFixed(1)} (${(low / 60).toFixed(1)} to ${(high / 60).toFixed(1)})`;
}

/** "6 h 20 min", "12 min". */
export function hours(seconds: number): string {
  const all = Math.round(seconds / 60);
  const h = Math.floor(all / 60);
  const min = all % 60;
  if (h === 0) return `${min} min`;
  return min === 0 ? `${h} h` : `${h} h ${min} min`;
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
