/** What happened: equipment time, numbers, the facts themselves. Each table also as CSV. */
import * as z from 'zod';
import { interval, storedEvent } from '../../src/contract.ts';
import { loss, seenNumbers } from '../../src/numbers.ts';
import type { BookAnswers, Scope } from './answers-port.ts';
import { CSV_ANSWER, PROBLEMS, SHARES, TIMES, type Api } from './api.ts';
import { computedWindowOf, eventQuery, scopeQuery, type ScopeQuery } from './query.ts';
import { sendCsv } from './send-csv.ts';
import { cut } from './send-rows.ts';
import { LOSS_COLUMNS, lossesOf, TIME_COLUMNS, timesOf, WORST_COLUMNS, worstOf } from './tables-computed.ts';
import { INTERVAL_COLUMNS, NUMBER_COLUMNS } from './tables.ts';

const computedScopeOf = (query: ScopeQuery): Scope => ({ window: computedWindowOf(query), chamber: query.chamber ?? null });

export function bookRoutes(api: Api, answers: BookAnswers): void {
  timeRoutes(api, answers);
  numberRoutes(api, answers);
  worstRoute(api, answers);
  api.get(
    '/api/events',
    {
      schema: {
        tags: ['facts'],
        summary: 'Committed facts after a sequence number',
        description: `In the order of the store: ask again with the last \`seq\` to follow. ${TIMES}`,
        querystring: eventQuery,
        response: { 200: z.array(storedEvent), ...PROBLEMS },
      },
    },
    async ({ query }, reply) => cut(reply, await answers.events({ after: query.after, limit: query.limit + 1 }), query.limit),
  );
}

function timeRoutes(api: Api, answers: BookAnswers): void {
  const words = {
    tags: ['numbers'],
    summary: 'Equipment time: which state each chamber was in, and when',
    description: `Six states in the manner of SEMI E10 plus unobserved; they cover the window without holes or overlaps. ${TIMES}`,
    querystring: scopeQuery,
  };
  api.get('/api/equipment-time', { schema: { ...words, response: { 200: z.array(interval), ...PROBLEMS } } }, async (request) => [
    ...(await answers.intervals(computedScopeOf(request.query))),
  ]);
  api.get('/api/equipment-time.csv', { schema: { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } } }, async (request, reply) =>
    sendCsv(reply, { name: 'equipment-time', columns: INTERVAL_COLUMNS }, await answers.intervals(computedScopeOf(request.query))),
  );
}

function numberRoutes(api: Api, answers: BookAnswers): void {
  const words = {
    tags: ['numbers'],
    summary: 'Utilization, loads, cycle times and alarm statistics of a window',
    description: `The fleet first (chamber null), then each chamber; with \`chamber\` that one alone. ${SHARES} ${TIMES}`,
    querystring: scopeQuery,
  };
  api.get('/api/numbers', { schema: { ...words, response: { 200: z.array(seenNumbers), ...PROBLEMS } } }, async (request) => [
    ...(await answers.numbers(computedScopeOf(request.query))),
  ]);
  api.get('/api/numbers.csv', { schema: { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } } }, async (request, reply) =>
    sendCsv(reply, { name: 'numbers', columns: NUMBER_COLUMNS }, await answers.numbers(computedScopeOf(request.query))),
  );
  timesRoute(api, answers);
  lossRoutes(api, answers);
}

function timesRoute(api: Api, answers: BookAnswers): void {
  const words = {
    tags: ['numbers'],
    summary: 'Cycle, process and phase times per recipe as a table',
    description: `The fleet first, then each chamber: runs, 10th, 50th and 90th percentile (NIST type 6) in seconds. ${TIMES}`,
    querystring: scopeQuery,
  };
  api.get('/api/times.csv', { schema: { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } } }, async (request, reply) =>
    sendCsv(reply, { name: 'times', columns: TIME_COLUMNS }, timesOf(await answers.numbers(computedScopeOf(request.query)))),
  );
}

function lossRoutes(api: Api, answers: BookAnswers): void {
  const words = {
    tags: ['numbers'],
    summary: 'Where time went that made no product, by cause',
    description: `Largest first; what nobody observed stands apart, last. ${TIMES}`,
    querystring: scopeQuery,
  };
  api.get('/api/losses', { schema: { ...words, response: { 200: z.array(loss), ...PROBLEMS } } }, async (request) => [
    ...(await answers.losses(computedScopeOf(request.query))),
  ]);
  api.get('/api/losses.csv', { schema: { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } } }, async (request, reply) =>
    sendCsv(reply, { name: 'losses', columns: LOSS_COLUMNS }, lossesOf(await answers.losses(computedScopeOf(request.query)))),
  );
}

function worstRoute(api: Api, answers: BookAnswers): void {
  const worst = {
    tags: ['alarms'],
    summary: 'The worst alarms of a window as a table',
    description: `Ten at most of the fleet, then of each chamber, by activations. Standing time is what was observed of it, in seconds. ${TIMES}`,
    querystring: scopeQuery,
    response: { 200: CSV_ANSWER, ...PROBLEMS },
  };
  api.get('/api/alarms/worst.csv', { schema: worst }, async (request, reply) =>
    sendCsv(reply, { name: 'worst-alarms', columns: WORST_COLUMNS }, worstOf(await answers.numbers(computedScopeOf(request.query)))),
  );
}
