/** The inks of the curve, taken from the style sheet so that light and dark are told in one place. */
export interface CurveInk {
  readonly paper: string;
  readonly ink: string;
  readonly quiet: string;
  readonly rule: string;
  readonly plan: string;
  readonly band: string;
  readonly sensors: readonly string[];
  readonly font: string;
}

export function readInk(element: Element): CurveInk {
  const style = getComputedStyle(element);
  const of = (name: string): string => style.getPropertyValue(name).trim();
  return {
    paper: of('--panel'),
    ink: of('--ink'),
    quiet: of('--quiet'),
    rule: of('--rule'),
    plan: of('--plan'),
    band: of('--band'),
    sensors: [of('--sensor-1'), of('--sensor-2'), of('--sensor-3')],
    font: style.fontFamily,
  };
}

/** Beyond the third, sensors share inks and are told apart by their stroke and name. */
export function sensorInk(ink: CurveInk, index: number): string {
  return ink.sensors[Math.min(index, ink.sensors.length - 1)] ?? ink.ink;
}

/** The stroke of each sensor: solid, then ever shorter dashes (D4: never colour alone). */
export function sensorDash(index: number): number[] {
  return [[], [8, 3], [3, 3], [10, 3, 2, 3]][index % 4] ?? [];
}
