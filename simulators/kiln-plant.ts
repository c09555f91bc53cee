/** What a simulated kiln offers to those who fire it, break it, measure in it and check it. */
import type { HeatLedger } from './heat-balance.ts';

/** Where something is measured. `glass` is the mean through the pane, its face looks up, its back lies on the shelf. */
export type Place = 'gas' | 'wall' | 'shelf' | 'glass' | 'glass-face' | 'glass-back';

/** What a person can do to a kiln. An electric kiln has no valve, damper or bottle, a gas kiln no switch or programme. */
export type Turn =
  | { readonly control: 'valve'; readonly mark: number }
  | { readonly control: 'damper'; readonly openRatio: number }
  | { readonly control: 'door'; readonly openRatio: number }
  /** The spyhole's bung, or a vent: a small hole, 0 plugged … 1 open. */
  | { readonly control: 'bung'; readonly openRatio: number }
  | { readonly control: 'gas-off' }
  | { readonly control: 'light' }
  | { readonly control: 'new-bottle' }
  | { readonly control: 'switch'; readonly on: boolean }
  /** The controller is told to go to a segment of its programme; its length ends the programme. */
  | { readonly control: 'programme'; readonly segment: number };

/** What can befall a kiln. Each stays until the same kind says otherwise; the last words of a line say how it is mended. */
export type Mishap =
  /** Air through a gasket, a crack, a warped door, beyond what leaks anyway, kg/s; 0. */
  | { readonly kind: 'leak'; readonly kgPerS: number }
  /** The room about the kiln, °C. */
  | { readonly kind: 'room'; readonly celsius: number }
  /** Gas that the bottle still delivers, as a share of a full one's; 1, or a new bottle. */
  | { readonly kind: 'bottle'; readonly ratio: number }
  /** Gas that the burner's jet lets through, as a share of a clean one's; 1. */
  | { readonly kind: 'burner'; readonly ratio: number }
  /** The flame is blown out; the gas goes on flowing. Lit again by hand. */
  | { readonly kind: 'flame-out' }
  /** The valve no longer follows the hand, and cannot be shut; false. */
  | { readonly kind: 'valve-stuck'; readonly stuck: boolean }
  /** The damper moves by itself. Set again by hand. */
  | { readonly kind: 'damper-slips'; readonly openRatio: number }
  /** Share of the nominal mains voltage: sags make heat by its square; 0 is no power; 1. */
  | { readonly kind: 'mains'; readonly voltageRatio: number }
  /** Heat that the elements of one half still give: aged, broken; 1. */
  | { readonly kind: 'element'; readonly where: 'above' | 'below'; readonly ratio: number }
  | { readonly kind: 'relay'; readonly state: 'works' | 'welded' | 'open' }
  /** The controller's own couple: shows too much, has slipped so far out of the chamber, or is broken; `good`. */
  | { readonly kind: 'controller-couple'; readonly state: ControllerCouple };

export type ControllerCouple =
  | { readonly is: 'good' }
  | { readonly is: 'off'; readonly byC: number }
  | { readonly is: 'slipped'; readonly outRatio: number }
  | { readonly is: 'broken' };

/** What an electric kiln's controller tells of itself. */
export interface ControllerReadOut {
  readonly shownC: number | null;
  readonly setpointC: number;
  /** Share of the time that it gives heat, 0 to 1. */
  readonly outputRatio: number;
  /** Index into its programme; its length when that is over. */
  readonly segment: number;
}

export interface KilnPlant {
  /** Runs on. Steps of up to 10 s are stable; 1 s is what figures are given for. */
  step(durationS: number): void;
  /** @param heightRatio 0 at the floor … 1 under the roof, for gas and wall; half way where nothing is said */
  celsius(place: Place, heightRatio?: number): number;
  /** How strongly a couple exchanges heat with the gas round it, W/(m² K). */
  stirringWPerM2K(): number;
  roomC(): number;
  /** @throws RangeError in one sentence where the kiln has no such control */
  turn(turn: Turn): void;
  /** @throws RangeError in one sentence where the kiln has no such part */
  suffer(mishap: Mishap): void;
  doorIsOpen(): boolean;
  /** Heat that goes in now, W. */
  heatW(): number;
  /** null at a kiln fired by hand. */
  controller(): ControllerReadOut | null;
  ledger(): HeatLedger;
}
