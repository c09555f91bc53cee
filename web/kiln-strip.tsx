/** Several kilns at a glance; a tap brings one in full. */

import type { AlertMessage } from '../daemon/wire/live-messages.ts';
import { wordOfAlert } from './alert-word.ts';
import { Badge } from './badge.tsx';
import { inOrder, isCallingForSomebody, type KilnView } from './dashboard-state.ts';
import { celsius } from './format.ts';
import { isCurrent, type Liveness } from './liveness.ts';
import type { Heat } from './wire-types.ts';
import { alerts, live, motion, phaseWord, priorityWord, watch } from './wording.ts';

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
        const alert = inOrder(now.alerts).find((one) => one.heldBackBy === undefined);
        const isCalling = alert !== undefined && isCallingForSomebody(alert);
        const isLive = isCurrent(liveness);
        return (
          <button
            key={now.id}
            type="button"
            class={isCalling ? 'kiln-calls' : undefined}
            aria-pressed={now.id === chosen}
            onClick={() => choose(now.id)}
          >
            <span class="kiln-name">{now.name}</span>
            <span class="kiln-figure">
              {isLive && reading?.celsius != null ? celsius(reading.celsius) : isLive ? '–' : live.notLive}
            </span>
            <span class="kiln-word">
              {alert === undefined ? isLive && wordOf(view) : <AlertWord alert={alert} heat={now.heat} />}
            </span>
          </button>
        );
      })}
    </fieldset>
  );
}

/** What calls has its badge; what somebody has seen stands in plain words, and what is over as a note. */
function AlertWord({ alert, heat }: { readonly alert: AlertMessage; readonly heat: Heat }) {
  const word = wordOfAlert(alert, heat);
  if (isCallingForSomebody(alert)) {
    return (
      <>
        <Badge priority={alert.priority} word={priorityWord[alert.priority]} />
        <b>{word}</b>
      </>
    );
  }
  if (alert.life === 'over-unseen') return <Badge priority="note" word={`${phaseWord.over} ${word}`} />;
  return <span>{alert.seenBy === undefined ? word : `${word}, ${alerts.seenBy(alert.seenBy)}`}</span>;
}
