/** The alarm journal, searched and paged, and the alarm statistics of a window beside their targets. Each table also as CSV. */
import * as z from 'zod';
import { ALARM_STATES, alarmStatistics, JOURNAL_KINDS, journalRow } from '../../src/alarm-answer.ts';
import { ALARM_PRIORITIES } from '../../src/equipment.ts';
import type { AlarmAnswers, JournalSearch, Scope } from './answers-port.ts';
import { CSV_ANSWER, PROBLEMS, TIMES, type Api } from './api.ts';
import { computedWindowOf, csvQuery, pagedQuery, scopeQuery, windowOf, type ScopeQuery } from './query.ts';
import { sendCsv, streamCsv } from './send-csv.ts';
import { cut } from './send-rows.ts';
import {
  ACTOR_COLUMNS,
  actorRows,
  COUNT_COLUMNS,
  countRows,
  FLOOD_COLUMNS,
  floodRows,
  JOURNAL_COLUMNS,
  LOAD_COLUMNS,
  loadRows,
  SUPPRESSION_COLUMNS,
  suppressionRows,
} from './tables-alarms.ts';

const searchFields = {
  words: z.string().max(120).optional().describe('Each word must be found in chamber, code or text.'),
  position: z.string().min(1).max(80).optional().describe('Operator position: the alarms of its chambers.'),
  priority: z.enum(ALARM_PRIORITIES).optional(),
  state: z
    .enum(ALARM_STATES)
    .optional()
    .describe(
      'A normal, B unacknowledged, C acknowledged, D returned unacknowledged, E latched unacknowledged, F latched acknowledged, G shelved, H suppressed by design, I out of service; B/C stands, and no acknowledgement is told.',
    ),
  show: z.enum(JOURNAL_KINDS).optional().describe('counted: what is in the rates. Default all.'),
};
const after = z
  .string()
  .regex(/^\d{1,16}\.\d{1,16}$/)
  .optional()
  .describe('The header x-next of the page before: rows that come after it.');
const journalQuery = pagedQuery.extend({ ...searchFields, after });
const journalCsvQuery = csvQuery.extend(searchFields);
type Search = ScopeQuery &
  Pick<JournalSearch, 'words' | 'position' | 'priority' | 'state' | 'show'> & { readonly after?: string | undefined };

function searchOf(query: Search): JournalSearch {
  const { words, position, priority, state, show } = query;
  const [at, seq] = (query.after ?? '').split('.').map(Number);
  const page = at !== undefined && seq !== undefined ? { after: { at, seq } } : {};
  return { window: windowOf(query), chamber: query.chamber ?? null, words, position, priority, state, show, ...page };
}
const computedScopeOf = (query: ScopeQuery): Scope => ({ window: computedWindowOf(query), chamber: query.chamber ?? null });

export function alarmStatisticsRoutes(api: Api, answers: AlarmAnswers): void {
  const words = {
    tags: ['alarms'],
    summary: 'Alarm journal: activations in a window and what became of them, newest first',
    description: `Notices, suppressed alarms and those found standing are journalled but counted in no rate. The header x-next asks for the next page. ${TIMES}`,
  };
  const json = { ...words, querystring: journalQuery, response: { 200: z.array(journalRow), ...PROBLEMS } };
  const table = { ...words, querystring: journalCsvQuery, response: { 200: CSV_ANSWER, ...PROBLEMS } };
  api.get('/api/alarms', { schema: json }, async ({ query }, reply) => {
    const rows = await answers.alarms({ ...searchOf(query), limit: query.limit + 1 });
    const last = rows[query.limit - 1];
    if (rows.length > query.limit && last) void reply.header('x-next', `${last.at}.${last.seq}`);
    return cut(reply, rows, query.limit);
  });
  api.get('/api/alarms.csv', { schema: table }, async ({ query }, reply) =>
    streamCsv(reply, { name: 'alarms', columns: JOURNAL_COLUMNS }, { rows: answers.allAlarms(searchOf(query)), limit: query.limit }),
  );
  statisticsRoutes(api, answers);
}

const MANNER =
  'In the manner of ISA-18.2 / EEMUA 191, from secondary texts, which ask for 30 days or more. Per operator position, then per chamber; over observed time with its coverage.';

function statisticsRoutes(api: Api, answers: AlarmAnswers): void {
  const words = { tags: ['alarms'], description: `${MANNER} ${TIMES}`, querystring: scopeQuery };
  const csv = { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } };
  const summary = 'Alarm statistics of a window: rates, floods, chatter, what stands, the worst with what a delay would have spared';
  api.get('/api/alarm-statistics', { schema: { ...words, summary, response: { 200: alarmStatistics, ...PROBLEMS } } }, async ({ query }) =>
    answers.alarmStatistics(computedScopeOf(query)),
  );
  api.get(
    '/api/alarm-statistics.csv',
    { schema: { ...csv, summary: 'The numbers beside their targets as a table' } },
    async ({ query }, reply) =>
      sendCsv(reply, { name: 'alarm-statistics', columns: LOAD_COLUMNS }, loadRows(await answers.alarmStatistics(computedScopeOf(query)))),
  );
  api.get('/api/alarm-floods.csv', { schema: { ...csv, summary: 'The floods as a table' } }, async ({ query }, reply) =>
    sendCsv(reply, { name: 'alarm-floods', columns: FLOOD_COLUMNS }, floodRows(await answers.alarmStatistics(computedScopeOf(query)))),
  );
  api.get(
    '/api/alarm-counts.csv',
    { schema: { ...csv, summary: 'Alarms per ten minutes (windows up to two days) or per hour as a table' } },
    async ({ query }, reply) =>
      sendCsv(reply, { name: 'alarm-counts', columns: COUNT_COLUMNS }, countRows(await answers.alarmStatistics(computedScopeOf(query)))),
  );
  api.get(
    '/api/alarm-suppressions.csv',
    { schema: { ...csv, summary: 'What was shelved, suppressed by design or out of service, when and by what, as a table' } },
    async ({ query }, reply) =>
      sendCsv(
        reply,
        { name: 'alarm-suppressions', columns: SUPPRESSION_COLUMNS },
        suppressionRows(await answers.alarmStatistics(computedScopeOf(query))),
      ),
  );
  api.get(
    '/api/alarm-actors.csv',
    { schema: { ...csv, summary: 'The worst alarms with the advice of a delay as a table' } },
    async ({ query }, reply) =>
      sendCsv(reply, { name: 'alarm-actors', columns: ACTOR_COLUMNS }, actorRows(await answers.alarmStatistics(computedScopeOf(query)))),
  );
}
