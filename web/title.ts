/** The tab's title: the sentence, the kiln's name, and first of all whether it is true now. */
import type { Dashboard, KilnView } from './dashboard-state.ts';
import { isCurrent, type Liveness } from './liveness.ts';
import { inShownUnit } from './unit.ts';
import { appName, live } from './wording.ts';

/** The sentence of the kiln as the daemon composed it. */
export function sentenceOf(view: KilnView): string {
  return inShownUnit((view.now.firing === null ? null : view.now.position?.sentence) ?? view.now.sentence);
}

/** Where there are several kilns, which one comes first. */
export function namedSentence(view: KilnView, isOneOfSeveral: boolean): string {
  const sentence = sentenceOf(view);
  const { name } = view.now;
  return !isOneOfSeveral || sentence.startsWith(name) ? sentence : `${name}: ${sentence}`;
}

export function pageTitle(
  dashboard: Dashboard | null,
  view: KilnView | undefined,
  liveness: Liveness | undefined,
): string {
  if (dashboard === null || view === undefined || liveness === undefined) return appName;
  const { name } = view.now;
  const named = namedSentence(view, true);
  const simulated = dashboard.snapshot.simulated === null ? '' : 'SIMULATED · ';
  if (liveness.kind === 'not-live') return `${live.notLive} · ${simulated}${name}`;
  if (!isCurrent(liveness)) return `${live.notLive} · ${simulated}${named}`;
  return `${simulated}${named}`;
}
