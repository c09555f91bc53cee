/** When something happens in a simulated firing; temperatures as the ruling couple shows them. */
export type Moment =
  | { readonly afterS: number }
  /** Seconds after the happening before it in the list. */
  | { readonly afterPreviousS: number }
  | { readonly climbingC: number }
  /** On the way up, so many degrees below the plan's hottest. */
  | { readonly belowTopC: number }
  | { readonly fallingC: number }
  /** Seconds after the plan's hottest was first reached, to 2 °C. */
  | { readonly holdingS: number }
  /** Seconds after the hold at the hottest was over. */
  | { readonly afterHoldS: number };
