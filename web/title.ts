/** The tab's title: the sentence, the kiln's name, and first of all whether it is true now. */
import type { AlertMessage } from '../daemon/wire/live-messages.ts';
import { type Dashboard, inOrder, isCallingForSomebody, type KilnView } from './dashboard-state.ts';
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

/** The page's first line. "All well" at this kiln never stands over another that calls: what calls comes first. */
export function firstLine(dashboard: Dashboard, view: KilnView): string {
  const calling = dashboard.kilns.flatMap(({ now }) => now.alerts).filter(wantsSomebodySoon);
  const [first] = inOrder(calling);
  const elsewhere = first === undefined ? undefined : dashboard.kilns.find(({ now }) => now.id === first.kiln);
  if (first === undefined || elsewhere === undefined || elsewhere.now.id === view.now.id)
    return namedSentence(view, dashboard.kilns.length > 1);
  const { name } = elsewhere.now;
  const message = inShownUnit(first.message);
  return message.startsWith(name) ? message : `${name}: ${message}`;
}

/** A note can wait until somebody looks at its kiln. */
function wantsSomebodySoon(alert: AlertMessage): boolean {
  return isCallingForSomebody(alert) && alert.priority !== 'note';
}

export function pageTitle(
  dashboard: Dashboard | null,
  view: KilnView | undefined,
  liveness: Liveness | undefined,
): string {
  if (dashboard === null || view === undefined || liveness === undefined) return appName;
  const { name } = view.now;
  // The tab names its kiln even where there is only one: it stands among other tabs.
  const line = firstLine(dashboard, view);
  const named = dashboard.kilns.length > 1 ? line : namedSentence(view, true);
  const simulated = dashboard.snapshot.simulated === null ? '' : 'SIMULATED · ';
  if (liveness.kind === 'not-live') return `${live.notLive} · ${simulated}${name}`;
  if (!isCurrent(liveness)) return `${live.notLive} · ${simulated}${named}`;
  return `${simulated}${named}`;
}
