/** What persons tell of a chamber's time, and what is still without a word. */
import * as z from 'zod';
import { enterReason, reasonChoice, reasonRow, stopsPage, withdrawReason } from '../../src/contract.ts';
import type { ReasonAnswers, Scope } from './answers-port.ts';
import { ACT_PROBLEMS, CSV_ANSWER, PROBLEMS, TIMES, type Api } from './api.ts';
import { chamberId, computedWindowOf, scopeQuery, windowOf, type ScopeQuery } from './query.ts';
import { sendCsv } from './send-csv.ts';
import { REASON_COLUMNS, STOP_COLUMNS } from './tables-reasons.ts';

const scopeOf = (query: ScopeQuery): Scope => ({ window: windowOf(query), chamber: query.chamber ?? null });
const computedScopeOf = (query: ScopeQuery): Scope => ({ window: computedWindowOf(query), chamber: query.chamber ?? null });
/** Acts are rare: a person clicks. */
const ACTS = { rateLimit: { max: 60, timeWindow: 60_000 } };
const FROM_OUR_PAGES =
  'Answers once it is on disk. Only from a page of this gateway: same Origin, content-type application/json and the header `x-glowfleet: 1`.';

export function reasonRoutes(api: Api, answers: ReasonAnswers): void {
  readRoutes(api, answers);
  stopRoutes(api, answers);
  api.post(
    '/api/chambers/:id/reasons',
    {
      config: ACTS,
      schema: {
        tags: ['reasons'],
        summary: 'Tell what a span of a chamber’s time was, in the name of a person',
        description: `It lies over what was observed, and both stay; nothing is written to the chamber. The same words within ten seconds are one entry. ${FROM_OUR_PAGES} ${TIMES}`,
        params: z.object({ id: chamberId }),
        body: enterReason,
        response: { 200: reasonRow, ...ACT_PROBLEMS },
      },
    },
    async (request) => answers.enterReason({ ...request.body, chamber: request.params.id }),
  );
  api.post(
    '/api/reasons/:entry/withdraw',
    {
      config: ACTS,
      schema: {
        tags: ['reasons'],
        summary: 'Take an entry back, in the name of a person',
        description: `All numbers are then those of before; entry and withdrawal both stay in the books. ${FROM_OUR_PAGES}`,
        params: z.object({ entry: z.string().min(1).max(64) }),
        body: withdrawReason,
        response: { 200: reasonRow, ...ACT_PROBLEMS },
      },
    },
    async (request) => answers.withdrawReason(request.params.entry, request.body.by),
  );
}

function readRoutes(api: Api, answers: ReasonAnswers): void {
  const words = {
    tags: ['reasons'],
    summary: 'Reason entries that reach into a window, the one entered last first',
    description: `Who told what of which span and when; those that were taken back are marked. ${TIMES}`,
    querystring: scopeQuery,
  };
  api.get('/api/reasons', { schema: { ...words, response: { 200: z.array(reasonRow), ...PROBLEMS } } }, async (request) => [
    ...(await answers.reasons(scopeOf(request.query))),
  ]);
  api.get('/api/reasons.csv', { schema: { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } } }, async (request, reply) =>
    sendCsv(reply, { name: 'reasons', columns: REASON_COLUMNS }, await answers.reasons(scopeOf(request.query))),
  );
  api.get(
    '/api/reason-list',
    {
      schema: {
        tags: ['reasons'],
        summary: 'The reasons that a person can choose from, by state',
        description: `From the site file, or the usual ones. \`downtime\` says which kind of downtime a reason stands for. ${TIMES}`,
        response: { 200: z.array(reasonChoice), ...PROBLEMS },
      },
    },
    async () => answers.reasonList().map((reason) => ({ ...reason, workedOn: [...reason.workedOn] })),
  );
}

function stopRoutes(api: Api, answers: ReasonAnswers): void {
  const words = {
    tags: ['reasons'],
    summary: 'Unscheduled downtime for which no person gave a reason, newest first',
    description: `Stops longer than a minute, whole where they reach beyond the window; hours inside it, and their share of all unscheduled downtime. ${TIMES}`,
    querystring: scopeQuery,
  };
  api.get('/api/stops', { schema: { ...words, response: { 200: stopsPage, ...PROBLEMS } } }, async (request) =>
    answers.stops(computedScopeOf(request.query)),
  );
  api.get('/api/stops.csv', { schema: { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } } }, async (request, reply) =>
    sendCsv(reply, { name: 'stops', columns: STOP_COLUMNS }, (await answers.stops(computedScopeOf(request.query))).stops),
  );
}
