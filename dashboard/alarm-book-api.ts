/** What the alarm page asks the gateway for. */
import * as z from 'zod/mini';
import { alarmStatistics, type AlarmStatistics, journalRow, type JournalRow } from '../src/alarm-answer.ts';
import { MINUTE_MS } from '../src/zone.ts';
import { get, read } from './api.ts';

const journalRows = z.array(journalRow);
/** How far around an alarm its episode is looked for. */
const [BEFORE_MS, AFTER_MS] = [60 * MINUTE_MS, 10 * MINUTE_MS];

export const fetchAlarmStatistics = (window: Readonly<Record<string, string>>): Promise<AlarmStatistics> =>
  get(`/api/alarm-statistics?${new URLSearchParams(window)}`, alarmStatistics);

/** Newest first. `next` asks for the rows after these; null: there are none. */
export type JournalPage = { readonly rows: readonly JournalRow[]; readonly next: string | null };

export async function fetchJournal(query: URLSearchParams, limit: number, after: string | null): Promise<JournalPage> {
  const asked = new URLSearchParams(query);
  asked.set('limit', String(limit));
  if (after !== null) asked.set('after', after);
  const { data, headers } = await read(`/api/alarms?${asked}`, journalRows);
  return { rows: data, next: headers.get('x-next') };
}

/** What else came at that chamber around an alarm, oldest first: from the first-out of its episode, an hour before at most, to ten minutes after. */
export async function fetchEpisode({ chamber, at, firstOut }: JournalRow): Promise<readonly JournalRow[]> {
  const from = Math.max(at - BEFORE_MS, (firstOut?.at ?? at) - MINUTE_MS);
  const query = new URLSearchParams({ chamber, from: String(from), to: String(at + AFTER_MS) });
  return (await fetchJournal(query, 60, null)).rows.toReversed();
}
