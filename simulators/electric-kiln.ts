/**
 * A top-loading electric kiln: elements behind a relay, and a controller with a couple of its own that follows the
 * schedule, waits for the kiln, and does not wind up.
 */
import { seededRandom } from '../daemon/core/numbers/seeded-random.ts';
import { type Schedule, targetC } from '../daemon/core/plan/schedule.ts';
import { type ChamberSpec, type ChamberState, chamberParts, HOT_FACE } from './chamber.ts';
import { heatBalance, radiationWPerK } from './heat-balance.ts';
import type { KilnPlant, Place, Turn } from './kiln-plant.ts';
import { fibre, softBrick } from './materials.ts';
import { type CoupleSpec, thermocouple } from './thermocouple.ts';

export interface ElectricKilnSpec {
  readonly chamber: ChamberSpec;
  readonly fullPowerW: number;
  readonly elementKg: number;
  /** Surface of the wire that is free to radiate. */
  readonly elementM2: number;
  /** The relay switches at most once on and once off in this time. */
  readonly relayCycleS: number;
  readonly couple: Omit<CoupleSpec, 'sensor'>;
}

/** Resistance wire of iron, chromium and aluminium. From memory. */
const WIRE_J_PER_KG_K = 600;
const STILL_WPERM2K = 5;
/** The controller: full power 12 °C below its setpoint, integral over 10 minutes, waits when 8 °C behind. Ours. */
const BAND_C = 12;
const INTEGRAL_S = 600;
const WAITS_BEHIND_C = 8;

/** About 60 litres, soft brick, 4.4 kW. */
export const studioElectricKiln: ElectricKilnSpec = {
  chamber: {
    widthM: 0.45,
    depthM: 0.45,
    heightM: 0.3,
    wall: [
      { material: softBrick, thicknessM: 0.05, cells: 5 },
      { material: fibre, thicknessM: 0.02, cells: 2 },
    ],
    door: [{ material: softBrick, thicknessM: 0.064, cells: 4 }],
    shelfKg: 5,
    shelfM2: 0.15,
    plateMm: 3,
    glassM2: 0.1,
    leakKgPerS: 0.0008,
    roomC: 18,
  },
  fullPowerW: 4400,
  elementKg: 1.3,
  elementM2: 0.11,
  relayCycleS: 20,
  couple: { looksAt: { wall: 0.4, shelf: 0.3, glass: 0.3 }, lagS: 20, noiseC: 0.15, stepC: 0.1, missedRatio: 0 },
};

export interface ElectricKiln extends KilnPlant {
  /** Share of the mains' power that reaches the elements: sag, an aged or broken element. */
  setMains(ratio: number): void;
  setpointC(): number;
  relayIsOn(): boolean;
}

interface Programme {
  setpointC(): number;
  /** True while it gives no heat: the kiln is let fall, or the plan is over. */
  isOff(): boolean;
  step(shownC: number, durationS: number): void;
}

/** The setpoint's way along the schedule. */
function programme(schedule: Schedule, startC: number): Programme {
  let index = 0;
  let setC = startC;
  let heldS = 0;
  const isOff = (): boolean => {
    const segment = schedule.segments[index];
    return segment === undefined || (segment.kind === 'ramp' && segment.rateCPerH === 'let-fall');
  };
  return {
    setpointC: () => setC,
    isOff,
    step(shownC, durationS) {
      const segment = schedule.segments[index];
      if (segment === undefined) return;
      if (segment.kind === 'hold') {
        heldS += durationS;
        if (heldS >= segment.minutes * 60) {
          index += 1;
          heldS = 0;
        }
        return;
      }
      const goal = targetC(schedule, index);
      const rising = goal >= setC;
      if (typeof segment.rateCPerH === 'number') {
        const behindC = rising ? setC - shownC : shownC - setC;
        if (behindC < WAITS_BEHIND_C) {
          const moveC = (segment.rateCPerH / 3600) * durationS;
          setC = rising ? Math.min(goal, setC + moveC) : Math.max(goal, setC - moveC);
        }
        if (setC === goal && (rising ? shownC >= goal - 1 : shownC <= goal + 1)) index += 1;
        return;
      }
      setC = goal;
      if (Math.abs(shownC - goal) <= 1 || (segment.rateCPerH === 'let-fall' && shownC < goal)) index += 1;
    },
  };
}

export function electricKiln(spec: ElectricKilnSpec, schedule: Schedule, seed: number): ElectricKiln {
  const chamber: ChamberState = { doorRatio: 0, stirringWPerM2K: STILL_WPERM2K, gasEmissivity: 0 };
  const parts = chamberParts(spec.chamber, chamber);
  const elements = {
    name: 'elements',
    startC: spec.chamber.roomC,
    capacityJPerK: spec.elementKg * WIRE_J_PER_KG_K,
  };
  const seesM2 = spec.elementM2 * 0.7;
  const balance = heatBalance(
    [...parts.bodies, elements],
    [
      ...parts.links,
      { from: 'elements', to: 'gas', conductanceWPerK: () => chamber.stirringWPerM2K * 2 * spec.elementM2 },
      { from: 'elements', to: HOT_FACE, conductanceWPerK: (a, b) => radiationWPerK(seesM2 * 0.75, a, b) },
      { from: 'elements', to: 'shelf', conductanceWPerK: (a, b) => radiationWPerK(seesM2 * 0.2, a, b) },
      { from: 'elements', to: 'glass', conductanceWPerK: (a, b) => radiationWPerK(seesM2 * 0.05, a, b) },
    ],
  );
  const wire = balance.body('elements');
  const places: Readonly<Record<Place, number>> = {
    gas: balance.body('gas'),
    wall: balance.body(HOT_FACE),
    shelf: balance.body('shelf'),
    glass: balance.body('glass'),
  };
  const plan = programme(schedule, spec.chamber.roomC);
  let mainsRatio = 1;
  let switchedOn = true;
  let relayOn = false;
  let duty = 0;
  let integral = 0;
  let cycleS = 0;

  const seen = {
    celsius: (place: Place): number => balance.celsius(places[place]),
    stirringWPerM2K: (): number => chamber.stirringWPerM2K,
  };

  function turn(to: Turn): void {
    switch (to.control) {
      case 'door':
        chamber.doorRatio = to.openRatio;
        return;
      case 'switch':
        switchedOn = to.on;
        return;
      case 'valve':
      case 'damper':
      case 'gas-off':
      case 'light':
      case 'new-bottle':
        throw new RangeError(`an electric kiln has no ${to.control}; turn its switch or its lid`);
    }
  }

  const kiln: ElectricKiln = {
    step(durationS) {
      ownCouple.step(durationS);
      const shownC = ownCouple.read() ?? spec.chamber.roomC;
      plan.step(shownC, durationS);
      const errorC = plan.setpointC() - shownC;
      // Integrates only inside the band and while the relay is not at its limit: no wind-up.
      if (Math.abs(errorC) < BAND_C && duty > 0 && duty < 1) integral += (errorC / BAND_C) * (durationS / INTEGRAL_S);
      integral = Math.min(0.9, Math.max(0, integral));
      duty = plan.isOff() ? 0 : Math.min(1, Math.max(0, errorC / BAND_C + integral));
      cycleS = (cycleS + durationS) % spec.relayCycleS;
      relayOn = switchedOn && cycleS < duty * spec.relayCycleS;
      chamber.stirringWPerM2K = STILL_WPERM2K + 25 * chamber.doorRatio;
      balance.heat(wire, relayOn ? spec.fullPowerW * mainsRatio : 0);
      balance.step(durationS);
    },
    celsius: seen.celsius,
    stirringWPerM2K: seen.stirringWPerM2K,
    turn,
    doorIsOpen: () => chamber.doorRatio > 0,
    ledger: () => balance.ledger(),
    setMains(ratio) {
      mainsRatio = ratio;
    },
    setpointC: () => plan.setpointC(),
    relayIsOn: () => relayOn,
  };
  const ownCouple = thermocouple({ ...spec.couple, sensor: 'controller' }, kiln, seededRandom(seed));
  return kiln;
}
