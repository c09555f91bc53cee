/** Questions and deeds over HTTP. A refusal comes back as one sentence to stand beside the button. */
import type {
  BeforeLighting,
  Calendar,
  Curve,
  FiringDetail,
  FiringRow,
  LastTime,
  Proof,
  WorkshopProof,
} from '../daemon/wire/live-messages.ts';
import type { EarNow, KilnAdded, KilnForm, KilnForms, NewKiln, Place, SetupPlaces } from '../daemon/wire/setup.ts';
import type { AlertKind } from './wire-types.ts';
import { faults } from './wording.ts';

export type Answer<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly sentence: string };

const PATIENCE_MS = 8000;
/** A large picture over a slow network. */
const PICTURE_PATIENCE_MS = 65_000;

/** The daemon's three-part answer as one sentence; see `RequestError` in the daemon. */
export function refusalSentence(body: unknown): string | null {
  if (typeof body !== 'object' || body === null || !('error' in body)) return null;
  const { error } = body;
  if (typeof error !== 'object' || error === null) return null;
  const { what, where, right } = error as Record<string, unknown>;
  if (typeof what !== 'string') return null;
  const place = typeof where === 'string' && where !== '' ? `${where}: ` : '';
  const wanted = typeof right === 'string' && right !== '' ? `; right: ${right}` : '';
  const sentence = `${place}${what}${wanted}.`;
  return sentence.charAt(0).toUpperCase() + sentence.slice(1);
}

async function ask<T>(path: string, init: RequestInit, patienceMs = PATIENCE_MS): Promise<Answer<T>> {
  let response: Response;
  try {
    response = await fetch(path, { ...init, signal: AbortSignal.timeout(patienceMs) });
  } catch {
    return { ok: false, sentence: faults.noAnswer };
  }
  const body: unknown = await response.json().catch(() => null);
  if (response.ok) return { ok: true, value: body as T };
  return { ok: false, sentence: refusalSentence(body) ?? faults.unreadable };
}

function send<T>(method: 'POST' | 'PUT', path: string, body: object): Promise<Answer<T>> {
  return ask(path, { method, headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) });
}

const of = encodeURIComponent;

export const api = {
  places: () => ask<SetupPlaces>('/api/setup/places', {}),
  heard: () => ask<{ readonly ear: EarNow | null }>('/api/setup/ear', {}),
  listenAt: (place: Place) => send<{ readonly ear: EarNow }>('PUT', '/api/setup/ear', place),
  stopListening: () => send<unknown>('POST', '/api/setup/ear/stop', {}),
  addKiln: (kiln: NewKiln) => send<KilnAdded>('POST', '/api/setup/kilns', kiln),
  kilnForms: () => ask<KilnForms>('/api/setup/kilns', {}),
  changeKiln: ({ id, ...form }: KilnForm) => send<unknown>('PUT', `/api/setup/kilns/${of(id)}`, form),
  removeKiln: (id: string) => send<unknown>('POST', `/api/setup/kilns/${of(id)}/remove`, {}),
  firings: (query: Readonly<Record<string, string>> = {}) =>
    ask<readonly FiringRow[]>(`/api/firings?${new URLSearchParams(query)}`, {}),
  proof: (id: string) => ask<Proof>(`/api/firings/${of(id)}/proof`, {}),
  workshopProof: () => ask<WorkshopProof>('/api/proof', {}),
  correctLine: (id: string, line: number, is: string, why: string, by: string) =>
    send<unknown>('POST', `/api/firings/${of(id)}/corrections`, { line, is, why, by }),
  signOff: (id: string, meaning: string, by: string) =>
    send<unknown>('POST', `/api/firings/${of(id)}/sign-offs`, { meaning, by }),
  firing: (id: string) => ask<FiringDetail>(`/api/firings/${of(id)}`, {}),
  curve: (id: string, points: number) => ask<Curve>(`/api/firings/${of(id)}/curve?points=${points}`, {}),
  lastTime: (id: string) => ask<{ readonly lastTime: LastTime | null }>(`/api/firings/${of(id)}/last-time`, {}),
  beforeLighting: (kiln: string, roomC: string) =>
    ask<BeforeLighting>(`/api/kilns/${of(kiln)}/before-lighting?roomC=${of(roomC)}`, {}),
  calendar: (kiln: string, schedule: string) =>
    ask<Calendar>(`/api/kilns/${of(kiln)}/calendar?schedule=${of(schedule)}`, {}),
  list: (
    id: string,
    items: readonly { readonly text: string; readonly isDone: boolean }[],
    roomC: number | null,
    by: string,
  ) => send<unknown>('POST', `/api/firings/${of(id)}/list`, roomC === null ? { by, items } : { by, items, roomC }),
  begin: (kiln: string, schedule: string | null, by: string) =>
    send<{ readonly id: string }>('POST', '/api/firings', schedule === null ? { kiln, by } : { kiln, schedule, by }),
  plan: (id: string, schedule: string, by: string) =>
    send<unknown>('PUT', `/api/firings/${of(id)}/schedule`, { schedule, by }),
  end: (id: string, by: string) => send<unknown>('POST', `/api/firings/${of(id)}/end`, { by }),
  act: (id: string, what: string, value: string | null, by: string) =>
    send<unknown>('POST', `/api/firings/${of(id)}/acts`, value === null ? { what, by } : { what, value, by }),
  correct: (id: string, correctsAtMs: number, what: string, value: string | null, by: string) =>
    send<unknown>('POST', `/api/firings/${of(id)}/acts`, {
      what,
      by,
      correctsAtMs,
      ...(value === null ? {} : { value }),
    }),
  /** The picture as it is: whoever has the file can say that it is the one that was filed. */
  photo: (id: string, picture: Blob, text: string, by: string) =>
    ask<{ readonly photo: string }>(
      `/api/firings/${of(id)}/photos?${new URLSearchParams({ by, text })}`,
      { method: 'POST', headers: { 'content-type': picture.type }, body: picture },
      PICTURE_PATIENCE_MS,
    ),
  note: (id: string, text: string, by: string) => send<unknown>('POST', `/api/firings/${of(id)}/notes`, { text, by }),
  seen: (alertId: string, by: string) => send<unknown>('POST', `/api/alerts/${of(alertId)}/seen`, { by }),
  reset: (alertId: string, by: string) => send<unknown>('POST', `/api/alerts/${of(alertId)}/reset`, { by }),
  switchOff: (firing: string, alert: AlertKind, why: string, by: string) =>
    send<unknown>('POST', `/api/firings/${of(firing)}/switch-off`, { by, alert, why }),
  switchOn: (firing: string, alert: AlertKind, by: string) =>
    send<unknown>('POST', `/api/firings/${of(firing)}/switch-on`, { by, alert }),
  putAside: (alertId: string, by: string, minutes: number) =>
    send<unknown>('POST', `/api/alerts/${of(alertId)}/put-aside`, { by, minutes }),
};
