/** The tab's title: the sentence, the kiln's name, and first of all whether it is true now. */
import type { Dashboard, KilnView } from './dashboard-state.ts';
import { isCurrent, type Liveness } from './liveness.ts';
import { appName, live } from './wording.ts';

/** The sentence of the kiln as the daemon composed it. */
export function sentenceOf(view: KilnView): string {
  return (view.now.firing === null ? null : view.now.position?.sentence) ?? view.now.sentence;
}

export function pageTitle(
  dashboard: Dashboard | null,
  view: KilnView | undefined,
  liveness: Liveness | undefined,
): string {
  if (dashboard === null || view === undefined || liveness === undefined) return appName;
  const { name } = view.now;
  const sentence = sentenceOf(view);
  const named = sentence.startsWith(name) ? sentence : `${name}: ${sentence}`;
  const simulated = dashboard.snapshot.simulated === null ? '' : 'SIMULATED · ';
  if (liveness.kind === 'not-live') return `${live.notLive} · ${simulated}${name}`;
  if (!isCurrent(liveness)) return `${live.notLive} · ${simulated}${named}`;
  return `${simulated}${named}`;
}
