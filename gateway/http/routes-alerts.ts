/** The engineer's inbox. Acknowledging is what a page may change here; a GET never does (mail scanners open links). */
import * as z from 'zod';
import { acknowledge, alert, alertWithDeliveries } from '../../src/contract.ts';
import type { AlertAnswers, AlertQuery } from './answers-port.ts';
import { ACT_PROBLEMS, CSV_ANSWER, PROBLEMS, TIMES, type Api } from './api.ts';
import { alertCsvQuery, alertQuery, readTime } from './query.ts';
import { sendCsv } from './send-csv.ts';
import { cut } from './send-rows.ts';
import { ALERT_COLUMNS } from './tables-live.ts';

const params = z.object({ id: z.string().min(1).max(200) });
/** Acts are rare: a person clicks. */
const ACTS_PER_MINUTE = 60;

export function alertRoutes(api: Api, answers: AlertAnswers): void {
  api.get(
    '/api/alerts',
    {
      schema: {
        tags: ['alerts'],
        summary: 'Alerts with their deliveries, newest first',
        description: `One alert per episode of too many alarms: who, since when, how many, what is usual here. ${TIMES}`,
        querystring: alertQuery,
        response: { 200: z.array(alertWithDeliveries), ...PROBLEMS },
      },
    },
    async ({ query }, reply) => cut(reply, await answers.alerts(asked(query, query.limit + 1)), query.limit),
  );
  api.get(
    '/api/alerts.csv',
    {
      schema: {
        tags: ['alerts'],
        summary: 'Alerts as a table, newest first',
        description: `With the count of messages by what became of them. ${TIMES}`,
        querystring: alertCsvQuery,
        response: { 200: CSV_ANSWER, ...PROBLEMS },
      },
    },
    async ({ query }, reply) => sendCsv(reply, { name: 'alerts', columns: ALERT_COLUMNS }, await answers.alerts(asked(query, query.limit))),
  );
  api.get(
    '/api/alerts/:id',
    {
      schema: {
        tags: ['alerts'],
        summary: 'One alert and how its messages were delivered',
        description: TIMES,
        params,
        response: { 200: alertWithDeliveries, ...PROBLEMS },
      },
    },
    async (request) => answers.alert(request.params.id),
  );
  api.post(
    '/api/alerts/:id/acknowledge',
    {
      config: { rateLimit: { max: ACTS_PER_MINUTE, timeWindow: 60_000 } },
      schema: {
        tags: ['alerts'],
        summary: 'Acknowledge an alert, in the name of a person',
        description:
          'Answers once it is on disk. Only from a page of this gateway: same Origin, content-type application/json and the header `x-glowfleet: 1`.',
        params,
        body: acknowledge,
        response: { 200: alert, ...ACT_PROBLEMS },
      },
    },
    async (request) => answers.acknowledge(request.params.id, request.body.by),
  );
}

function asked({ state, from, to }: z.infer<typeof alertQuery>, limit: number): AlertQuery {
  return {
    ...(state === undefined ? {} : { state }),
    ...(from === undefined ? {} : { from: readTime(from) }),
    ...(to === undefined ? {} : { to: readTime(to) }),
    limit,
  };
}
