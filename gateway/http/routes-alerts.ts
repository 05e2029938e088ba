/** The engineer's inbox. Acknowledging is the one thing a page may change; a GET never does (mail scanners open links). */
import * as z from 'zod';
import { acknowledge, alert, alertWithDeliveries } from '../../src/contract.ts';
import type { AlertAnswers } from './answers-port.ts';
import { ACT_PROBLEMS, PROBLEMS, TIMES, type Api } from './api.ts';
import { alertQuery } from './query.ts';

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
    async (request) => [...(await answers.alerts({ state: request.query.state ?? null, limit: request.query.limit }))],
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
