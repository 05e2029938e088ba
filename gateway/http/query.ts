/**
 * What may be asked in a URL. A time is epoch milliseconds or ISO 8601 with its offset (without one nobody knows whose clock is meant).
 */
import * as z from 'zod';
import { ALERT_KINDS, SEVERITIES } from '../../src/contract.ts';
import { Fault } from '../../src/fault.ts';
import { DAY_MS } from '../../src/zone.ts';
import { WINDOW_NAMES, type Window } from './answers-port.ts';

/** No question reaches further than this: it keeps one request from reading years into memory. */
const LONGEST_WINDOW_MS = 400 * DAY_MS;
/** A month and some days: what is computed over a window keeps others waiting meanwhile. */
const LONGEST_COMPUTED_MS = 35 * DAY_MS;
const LATEST_MS = 8.64e15;

const ISO = /^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2}(\.\d{1,3})?)?(Z|[+-]\d{2}:\d{2})$/;
const EPOCH = /^\d{1,16}$/;

const TIME_WORDS = 'a time is epoch milliseconds such as 1795604400000, or ISO 8601 with its offset such as 2026-11-25T06:00:00Z';

/** Kept as text here, so that the API page can describe it; `readTime` turns it into epoch ms. */
const time = z
  .string()
  .max(40)
  .refine((text) => epochMs(text) !== null, TIME_WORDS);

export const chamberId = z.string().min(1).max(64);

export const rowLimit = (most: number) =>
  z.coerce
    .number()
    .int()
    .min(1)
    .max(most)
    .default(Math.min(500, most))
    .describe(`At most this many rows, 1 to ${most}; the header x-more says whether there are more.`);
const csvLimit = z.coerce.number().int().min(1).optional().describe('At most this many rows; without it all of them.');

const windowFields = {
  window: z
    .enum(WINDOW_NAMES)
    .optional()
    .describe('now = the last 60 minutes; shift, today and week = since it began, in the time zone of the site. Default today.'),
  from: time.optional().describe('Begin of the window, inclusive: epoch ms, or ISO 8601 with offset. Instead of `window`, with `to`.'),
  to: time.optional().describe('End of the window, exclusive: epoch ms, or ISO 8601 with offset.'),
};

export const scopeQuery = z.strictObject({
  ...windowFields,
  chamber: chamberId.optional().describe('One chamber; without it all of them.'),
});
export const pagedQuery = scopeQuery.extend({ limit: rowLimit(20_000) });
export const csvQuery = scopeQuery.extend({ limit: csvLimit });
const alertFields = {
  state: z.enum(['open', 'closed']).optional(),
  from: time.optional().describe('Updated then or later: epoch ms, or ISO 8601 with offset.'),
  to: time.optional().describe('Started before: epoch ms, or ISO 8601 with offset.'),
  kind: z.enum(ALERT_KINDS).optional(),
  severity: z.enum(SEVERITIES).optional(),
  chamber: chamberId.optional().describe('About this chamber, alone or together with others.'),
  takenBy: z.string().min(1).max(80).optional().describe('The name of who works on it.'),
  words: z.string().trim().min(1).max(100).optional().describe('A part of the headline or of a comment, small and capital letters alike.'),
  after: z.string().min(1).max(200).optional().describe('Only alerts that come after the one of this id: the next page.'),
};
export const muteQuery = z.strictObject({ limit: rowLimit(2_000) });
export const muteCsvQuery = z.strictObject({ limit: rowLimit(20_000).default(20_000) });
export const alertQuery = z.strictObject({ ...alertFields, limit: rowLimit(2_000) });
export const alertCsvQuery = z.strictObject({ ...alertFields, limit: rowLimit(20_000).default(20_000) });
export const eventQuery = z.strictObject({
  after: z.coerce.number().int().min(0).default(0).describe('Sequence number of the last event already known.'),
  limit: rowLimit(5_000),
});
export const traceQuery = z.strictObject({
  signals: z
    .string()
    .min(1)
    .max(2_000)
    .optional()
    .describe('Names separated by commas, such as chamber.pressure,rf.forward; without it every quantity this chamber has.'),
  from: time.describe('Begin, inclusive.'),
  to: time.describe('End, exclusive.'),
  maxPoints: z.coerce
    .number()
    .int()
    .min(10)
    .max(10_000)
    .default(1_000)
    .describe('Points per signal at most; minima, maxima and gaps survive the thinning.'),
});

export type ScopeQuery = z.infer<typeof scopeQuery>;

/** The window that a query names; today when it names none. */
export function windowOf(query: Pick<ScopeQuery, 'window' | 'from' | 'to'>): Window {
  if (query.from === undefined && query.to === undefined) return { name: query.window ?? 'today' };
  if (query.window !== undefined) throw new Fault('invalid', 'Ask for either `window` or `from` and `to`, not for both.');
  if (query.from === undefined || query.to === undefined) throw new Fault('invalid', 'A window of your own needs both `from` and `to`.');
  return span(query.from, query.to);
}

export function span(fromText: string, toText: string): { readonly from: number; readonly to: number } {
  const from = readTime(fromText);
  const to = readTime(toText);
  if (to <= from) throw new Fault('invalid', '`to` must be later than `from`.');
  if (to - from > LONGEST_WINDOW_MS) throw new Fault('invalid', 'The window is longer than 400 days. Ask for parts of it.');
  return { from, to };
}

/** A window of which everything is computed at once. */
export function computedWindowOf(query: Pick<ScopeQuery, 'window' | 'from' | 'to'>): Window {
  const window = windowOf(query);
  if ('from' in window && window.to - window.from > LONGEST_COMPUTED_MS)
    throw new Fault('invalid', 'Numbers are computed over at most 35 days at once. Ask for parts of the window, or for weeks.');
  return window;
}

export function readTime(text: string): number {
  const at = epochMs(text);
  if (at === null) throw new Fault('invalid', `"${text}" is not a time: ${TIME_WORDS}.`);
  return at;
}

function epochMs(text: string): number | null {
  const at = EPOCH.test(text) ? Number(text) : ISO.test(text) ? Date.parse(text) : NaN;
  return Number.isFinite(at) && at <= LATEST_MS ? at : null;
}
