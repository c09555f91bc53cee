/** An electric kiln's controller: proportional and integral, following its programme by what its own couple shows. */
import type { Schedule } from '../daemon/core/plan/schedule.ts';
import type { ControllerReadOut } from './kiln-plant.ts';
import { programme } from './programme.ts';

export interface ControllerSpec {
  /** Full power this far below the setpoint, °C. */
  readonly bandC: number;
  readonly integralS: number;
  /** `held`: the integral rests while the output is at its limit. `free`: it goes on growing, and overshoots. */
  readonly windUp: 'held' | 'free';
  /** What it does with the heat when its couple breaks: none, or as much as before. */
  readonly onBrokenCouple: 'off' | 'keeps-on';
  /** When power comes back. */
  readonly afterPowerCut: 'goes-on' | 'starts-again' | 'stays-off';
  /** Overrules what the schedule says. */
  readonly waits?: boolean;
}

/** As far as a free integral grows, in bands: makers stop it somewhere. From memory. */
const FREE_INTEGRAL = 4;
const HELD_INTEGRAL = 0.9;

export interface Controller {
  /** @param shownC null where the couple shows nothing */
  step(shownC: number | null, durationS: number): void;
  /** Share of the time that it gives heat. */
  outputRatio(): number;
  losePower(): void;
  getPower(shownC: number | null): void;
  /** @throws RangeError unless a whole number from 0 to the number of segments */
  jump(segment: number): void;
  readOut(): ControllerReadOut;
}

export function controller(spec: ControllerSpec, schedule: Schedule, startC: number): Controller {
  const plan = programme(schedule, startC, spec.waits ?? schedule.waits ?? true);
  let powered = true;
  let outputRatio = 0;
  let integral = 0;
  let shownC: number | null = startC;

  function regulate(celsius: number, durationS: number): void {
    const error = (plan.setpointC() - celsius) / spec.bandC;
    const more = error * (durationS / spec.integralS);
    if (spec.windUp === 'free') {
      integral = Math.min(FREE_INTEGRAL, Math.max(-FREE_INTEGRAL, integral + more));
    } else if (Math.abs(error) < 1 && outputRatio > 0 && outputRatio < 1) {
      integral = Math.min(HELD_INTEGRAL, Math.max(0, integral + more));
    }
    outputRatio = Math.min(1, Math.max(0, error + integral));
  }

  return {
    step(celsius, durationS) {
      if (!powered) return;
      shownC = celsius;
      plan.step(celsius, durationS);
      if (plan.isOff()) {
        outputRatio = 0;
        integral = 0;
      } else if (celsius !== null) regulate(celsius, durationS);
      else if (spec.onBrokenCouple === 'off') outputRatio = 0;
    },
    outputRatio: () => (powered ? outputRatio : 0),
    losePower() {
      powered = false;
    },
    getPower(celsius) {
      if (powered) return;
      powered = true;
      integral = 0;
      shownC = celsius;
      if (spec.afterPowerCut === 'starts-again') plan.jump(0, celsius ?? startC);
      if (spec.afterPowerCut === 'stays-off') plan.jump(schedule.segments.length, celsius ?? startC);
    },
    jump(segment) {
      if (!Number.isInteger(segment) || segment < 0 || segment > schedule.segments.length) {
        throw new RangeError(`the programme has segments 0 to ${schedule.segments.length - 1}, not ${segment}`);
      }
      plan.jump(segment, shownC ?? startC);
      integral = 0;
    },
    readOut: () => ({
      shownC: powered ? shownC : null,
      setpointC: plan.setpointC(),
      outputRatio: powered ? outputRatio : 0,
      segment: plan.segment(),
    }),
  };
}
