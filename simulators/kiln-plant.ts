/** What a simulated kiln offers to those who fire it, measure in it and check it. */
import type { HeatLedger } from './heat-balance.ts';

/** Where something is measured. */
export type Place = 'gas' | 'wall' | 'shelf' | 'glass';

/** What a person can do to a kiln. An electric kiln has no valve, damper or bottle, a gas kiln no switch. */
export type Turn =
  | { readonly control: 'valve'; readonly mark: number }
  | { readonly control: 'damper'; readonly openRatio: number }
  | { readonly control: 'door'; readonly openRatio: number }
  | { readonly control: 'gas-off' }
  | { readonly control: 'light' }
  | { readonly control: 'new-bottle' }
  | { readonly control: 'switch'; readonly on: boolean };

export interface KilnPlant {
  step(durationS: number): void;
  celsius(place: Place): number;
  /** How strongly a couple exchanges heat with the gas round it, W/(m² K). */
  stirringWPerM2K(): number;
  turn(turn: Turn): void;
  doorIsOpen(): boolean;
  ledger(): HeatLedger;
}
