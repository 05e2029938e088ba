/** What the inbox asks for and sends. */
import * as z from 'zod/mini';
import { alertEvidence, inboxAlert, type AlertEvidence, type InboxAlert } from '../src/alert-inbox.ts';
import { mute, type Mute } from '../src/alert-mute.ts';
import { get, post, read } from './api.ts';

const inboxAlerts = z.array(inboxAlert);
const mutes = z.array(mute);
const DAY_MS = 86_400_000;
const MOST_OPEN = 500;
const one = (id: string): string => `/api/alerts/${encodeURIComponent(id)}`;
const asked = (query: Readonly<Record<string, string>>): string =>
  String(new URLSearchParams(Object.entries(query).filter(([, value]) => value !== '')));

/** What is open, and what ended in the last day. */
export async function fetchInbox(now: number): Promise<InboxAlert[]> {
  const [open, over] = await Promise.all([
    get(`/api/alerts?${asked({ state: 'open', limit: String(MOST_OPEN) })}`, inboxAlerts),
    get(`/api/alerts?${asked({ state: 'closed', from: String(Math.max(0, Math.floor(now) - DAY_MS)), limit: '200' })}`, inboxAlerts),
  ]);
  return [...open, ...over];
}

export type PastQuery = { readonly words: string; readonly kind: string; readonly chamber: string; readonly takenBy: string };
type PastPage = { readonly alerts: readonly InboxAlert[]; readonly isMore: boolean };

/** Newest first, from the one after which the last page ended. */
export async function fetchPast(query: PastQuery, after: string): Promise<PastPage> {
  const { data, headers } = await read(`/api/alerts?${asked({ ...query, words: query.words.trim(), after, limit: '40' })}`, inboxAlerts);
  return { alerts: data, isMore: headers.get('x-more') === 'true' };
}

export const fetchAlert = (id: string): Promise<InboxAlert> => get(one(id), inboxAlert);
export const fetchEvidence = (id: string): Promise<AlertEvidence> => get(`${one(id)}/evidence`, alertEvidence);
export const fetchMutes = (): Promise<Mute[]> => get('/api/mutes?limit=50', mutes);

export type Deed = 'acknowledge' | 'take' | 'give-back' | 'comment';

export async function actOnAlert(id: string, deed: Deed, body: Readonly<Record<string, string>>): Promise<void> {
  await post(`${one(id)}/${deed}`, body);
}

export type MuteDraft = Pick<Mute, 'kind' | 'chamber' | 'until' | 'why'> & { readonly by: string; readonly alert?: string };

export async function muteAlerts(draft: MuteDraft): Promise<void> {
  await post('/api/mutes', draft);
}

export async function unmute(id: number, by: string): Promise<void> {
  await post(`/api/mutes/${id}/unmute`, { by });
}
