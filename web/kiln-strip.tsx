/** Several kilns at a glance; a tap brings one in full. */

import { Badge } from './badge.tsx';
import { inOrder, type KilnView } from './dashboard-state.ts';
import { celsius } from './format.ts';
import { isCurrent, type Liveness } from './liveness.ts';
import { live, motion, priorityWord, watch } from './wording.ts';

interface KilnStripProps {
  readonly kilns: readonly KilnView[];
  readonly chosen: string;
  choose(id: string): void;
  livenessOf(view: KilnView): Liveness;
}

/** Slower than this and nobody sees it move. */
const STEADY_C_PER_H = 12;

function wordOf({ now }: KilnView): string {
  if (now.firing === null) return motion.noFiring;
  if (now.position?.holdS != null) return motion.hold;
  const rateCPerH = now.position?.rateCPerH ?? 0;
  if (Math.abs(rateCPerH) < STEADY_C_PER_H) return motion.firing;
  return rateCPerH > 0 ? motion.climbing : motion.falling;
}

export function KilnStrip({ kilns, chosen, choose, livenessOf }: KilnStripProps) {
  return (
    <fieldset class="kilns" aria-label={watch.kilns}>
      {kilns.map((view) => {
        const { now } = view;
        const liveness = livenessOf(view);
        const reading = now.readings.find((one) => one.sensor === now.rulingSensor);
        const alert = inOrder(now.alerts).find((one) => one.life === 'calling' || one.life === 'over-unseen');
        const isLive = isCurrent(liveness);
        return (
          <button key={now.id} type="button" aria-pressed={now.id === chosen} onClick={() => choose(now.id)}>
            <span class="kiln-name">{now.name}</span>
            <span class="kiln-figure">
              {isLive && reading?.celsius != null ? celsius(reading.celsius) : isLive ? '–' : live.notLive}
            </span>
            <span class="kiln-word">
              {alert === undefined ? (
                isLive && wordOf(view)
              ) : (
                <Badge priority={alert.priority} word={priorityWord[alert.priority]} />
              )}
            </span>
          </button>
        );
      })}
    </fieldset>
  );
}
