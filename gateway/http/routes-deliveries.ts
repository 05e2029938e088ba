/** Messages on their way: how each route is doing, what was given up, and what a person may do about it. */
import * as z from 'zod';
import { byPerson, delivery, deliveriesChanged, deliveryRow, routeLine } from '../../src/contract.ts';
import type { DeliveryAnswers, DeliveryQuery } from './answers-port.ts';
import { ACT_PROBLEMS, CSV_ANSWER, PROBLEMS, TIMES, type Api } from './api.ts';
import { rowLimit } from './query.ts';
import { sendCsv } from './send-csv.ts';
import { cut } from './send-rows.ts';
import { DELIVERY_COLUMNS, ROUTE_COLUMNS } from './tables-deliveries.ts';

const byId = z.object({ id: z.string().min(1).max(400) });
const byRoute = z.object({ route: z.string().min(1).max(80) });
const fields = {
  state: z.enum(['waiting', 'gathered', 'delivered', 'dead', 'spared']).optional(),
  route: z.string().min(1).max(80).optional().describe('One route; without it all of them.'),
};
const deliveryQuery = z.strictObject({ ...fields, limit: rowLimit(2_000) });
const deliveryCsvQuery = z.strictObject({ ...fields, limit: rowLimit(20_000).default(20_000) });
/** Acts are rare: a person clicks. A test goes out to others. */
const ACTS = { rateLimit: { max: 60, timeWindow: 60_000 } };
const TESTS = { rateLimit: { max: 10, timeWindow: 60_000 } };
const FROM_OUR_PAGES =
  'Audited in the name of the person. Only from a page of this gateway: same Origin, content-type application/json and the header `x-glowfleet: 1`.';
const STATES =
  'waiting: on its way; gathered: leaves inside the digest it names; delivered: the receiver took it; dead: given up; spared: need not leave, `lastError` says why.';

export function deliveryRoutes(api: Api, answers: DeliveryAnswers): void {
  routeRoutes(api, answers);
  const list = {
    tags: ['messages'],
    summary: 'Messages by what became of them, newest first',
    description: `The id is the key by which a receiver can tell a repeat: the same in every attempt. ${STATES} ${TIMES}`,
  };
  api.get(
    '/api/deliveries',
    { schema: { ...list, querystring: deliveryQuery, response: { 200: z.array(deliveryRow), ...PROBLEMS } } },
    async ({ query }, reply) => cut(reply, await answers.deliveries(asked(query, query.limit + 1)), query.limit),
  );
  api.get(
    '/api/deliveries.csv',
    {
      schema: {
        ...list,
        summary: 'Messages as a table, newest first',
        querystring: deliveryCsvQuery,
        response: { 200: CSV_ANSWER, ...PROBLEMS },
      },
    },
    async ({ query }, reply) =>
      sendCsv(reply, { name: 'messages', columns: DELIVERY_COLUMNS }, await answers.deliveries(asked(query, query.limit))),
  );
  act(api, 'resend', 'Send a message once more that was given up, under the same key', (id, by) => answers.resend(id, by));
  act(api, 'set-aside', 'Decide that a message that was given up need not be sent', (id, by) => answers.setAside(id, by));
  actOnAll(api, 'resend', 'Send once more all that a route gave up, each under its own key', (route, by) => answers.resendAll(route, by));
  actOnAll(api, 'set-aside', 'Decide that all that a route gave up need not be sent', (route, by) => answers.setAllAside(route, by));
}

function routeRoutes(api: Api, answers: DeliveryAnswers): void {
  const words = {
    tags: ['messages'],
    summary: 'How each route of messages is doing',
    description: `Routes of the site file, the sign of life among them, and routes that are gone but have messages left. ${TIMES}`,
  };
  api.get('/api/routes', { schema: { ...words, response: { 200: z.array(routeLine), ...PROBLEMS } } }, async () => [...answers.routes()]);
  api.get('/api/routes.csv', { schema: { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } } }, async (_request, reply) =>
    sendCsv(reply, { name: 'routes', columns: ROUTE_COLUMNS }, answers.routes()),
  );
  api.post(
    '/api/routes/:route/test',
    {
      config: TESTS,
      schema: {
        tags: ['messages'],
        summary: 'Send one message by a route that says nothing but that it is a test',
        description: `Answers what became of it: delivered, or dead with what the receiver said; waiting when it has not answered yet. ${FROM_OUR_PAGES}`,
        params: byRoute,
        body: byPerson,
        response: { 200: delivery, ...ACT_PROBLEMS },
      },
    },
    async (request) => answers.testRoute(request.params.route, request.body.by),
  );
}

type Deed = (id: string, by: string) => ReturnType<DeliveryAnswers['resend']>;

function act(api: Api, path: 'resend' | 'set-aside', summary: string, deed: Deed): void {
  const schema = { tags: ['messages'], summary, description: FROM_OUR_PAGES, params: byId, body: byPerson };
  api.post(
    `/api/deliveries/:id/${path}`,
    { config: ACTS, schema: { ...schema, response: { 200: delivery, ...ACT_PROBLEMS } } },
    async (request) => deed(request.params.id, request.body.by),
  );
}

type DeedOnAll = (route: string, by: string) => Promise<number>;

function actOnAll(api: Api, path: 'resend' | 'set-aside', summary: string, deed: DeedOnAll): void {
  const description = `Answers how many. In one transaction, each audited as if it were alone. ${FROM_OUR_PAGES}`;
  const schema = { tags: ['messages'], summary, description, params: byRoute, body: byPerson };
  api.post(
    `/api/routes/:route/${path}`,
    { config: ACTS, schema: { ...schema, response: { 200: deliveriesChanged, ...ACT_PROBLEMS } } },
    async (request) => ({ count: await deed(request.params.route, request.body.by) }),
  );
}

const asked = ({ state, route }: z.infer<typeof deliveryQuery>, limit: number): DeliveryQuery => ({ state, route, limit });
