/** The engineer's inbox, read. A GET never changes anything (mail scanners open links); acts are in routes-alert-acts.ts. */
import * as z from 'zod';
import { alertEvidence, inboxAlert } from '../../src/alert-inbox.ts';
import { mute } from '../../src/alert-mute.ts';
import type { AlertQuery, AlertTables } from './answers-port.ts';
import { CSV_ANSWER, PROBLEMS, TIMES, type Api } from './api.ts';
import { alertCsvQuery, alertQuery, muteCsvQuery, muteQuery, readTime } from './query.ts';
import { sendCsv } from './send-csv.ts';
import { cut } from './send-rows.ts';
import { ACT_COLUMNS, MUTE_COLUMNS } from './tables-alerts.ts';
import { ALERT_COLUMNS } from './tables-live.ts';

const params = z.object({ id: z.string().min(1).max(200) });
const tags = ['alerts'];

export function alertRoutes(api: Api, answers: AlertTables): void {
  api.get(
    '/api/alerts',
    {
      schema: {
        tags,
        summary: 'Alerts with their deliveries, what persons did, and by which mute nobody is told; newest first',
        description: `One alert per episode: who, since when, by which rule. The next page is asked for with \`after\`. ${TIMES}`,
        querystring: alertQuery,
        response: { 200: z.array(inboxAlert), ...PROBLEMS },
      },
    },
    async ({ query }, reply) => cut(reply, await answers.alerts(asked(query, query.limit + 1)), query.limit),
  );
  api.get(
    '/api/alerts/:id',
    {
      schema: {
        tags,
        summary: 'One alert, how its messages were delivered and what persons did about it',
        description: TIMES,
        params,
        response: { 200: inboxAlert, ...PROBLEMS },
      },
    },
    async (request) => answers.alert(request.params.id),
  );
  api.get(
    '/api/alerts/:id/evidence',
    {
      schema: {
        tags,
        summary: 'What lies around one alert and before it',
        description: `The half hour to draw, the alarms in their order with the first one marked, episodes before that were like it with what was noted then and what followed, and what changed at the chamber in the week before. ${TIMES}`,
        params,
        response: { 200: alertEvidence, ...PROBLEMS },
      },
    },
    async (request) => answers.evidence(request.params.id),
  );
  api.get(
    '/api/mutes',
    {
      schema: {
        tags,
        summary: 'Mutes, those over too, newest first',
        description: `While a mute is on, nobody is told of the alerts it covers; they stay in the inbox. ${TIMES}`,
        querystring: muteQuery,
        response: { 200: z.array(mute), ...PROBLEMS },
      },
    },
    async ({ query: { limit } }, reply) => cut(reply, await answers.mutes(limit + 1), limit),
  );
  tableRoutes(api, answers);
}

function tableRoutes(api: Api, answers: AlertTables): void {
  const words = { tags, querystring: alertCsvQuery, response: { 200: CSV_ANSWER, ...PROBLEMS } };
  api.get(
    '/api/alerts.csv',
    {
      schema: {
        ...words,
        summary: 'Alerts as a table, newest first',
        description: `With the count of messages by what became of them. ${TIMES}`,
      },
    },
    async ({ query }, reply) => sendCsv(reply, { name: 'alerts', columns: ALERT_COLUMNS }, await answers.alerts(asked(query, query.limit))),
  );
  api.get(
    '/api/alert-acts.csv',
    {
      schema: {
        ...words,
        summary: 'What persons did about alerts as a table, newest alert first',
        description: `One line per act of the alerts asked for. ${TIMES}`,
      },
    },
    async ({ query }, reply) => {
      const rows = (await answers.alerts(asked(query, query.limit))).flatMap(({ acts }) => acts);
      return sendCsv(reply, { name: 'alert-acts', columns: ACT_COLUMNS }, rows);
    },
  );
  api.get(
    '/api/mutes.csv',
    {
      schema: {
        tags,
        summary: 'Mutes as a table, newest first',
        description: TIMES,
        querystring: muteCsvQuery,
        response: { 200: CSV_ANSWER, ...PROBLEMS },
      },
    },
    async ({ query }, reply) => sendCsv(reply, { name: 'mutes', columns: MUTE_COLUMNS }, await answers.mutes(query.limit)),
  );
}

function asked({ from, to, kind, limit: _limit, ...query }: z.infer<typeof alertQuery>, limit: number): AlertQuery {
  const known = Object.fromEntries(Object.entries(query).filter(([, value]) => value !== undefined)) as Omit<AlertQuery, 'limit'>;
  return {
    ...known,
    ...(kind === undefined ? {} : { kinds: [kind] }),
    ...(from === undefined ? {} : { from: readTime(from) }),
    ...(to === undefined ? {} : { to: readTime(to) }),
    limit,
  };
}
