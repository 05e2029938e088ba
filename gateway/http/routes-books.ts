/** What happened: runs, equipment time, numbers, the alarm journal, the facts themselves. Each table also as CSV. */
import * as z from 'zod';
import { alarmRow, interval, runRow, storedEvent } from '../../src/contract.ts';
import { windowNumbers } from '../../src/numbers.ts';
import type { BookAnswers, Page, Scope } from './answers-port.ts';
import { CSV_ANSWER, PROBLEMS, SHARES, TIMES, type Api } from './api.ts';
import { csv } from './csv.ts';
import { eventQuery, pagedQuery, scopeQuery, windowOf, type ScopeQuery } from './query.ts';
import { sendCsv } from './send-csv.ts';
import { ALARM_COLUMNS, INTERVAL_COLUMNS, NUMBER_COLUMNS, RUN_COLUMNS } from './tables.ts';

const scopeOf = (query: ScopeQuery): Scope => ({ window: windowOf(query), chamber: query.chamber ?? null });
const pageOf = (query: ScopeQuery & Page): Scope & Page => ({ ...scopeOf(query), limit: query.limit });

export function bookRoutes(api: Api, answers: BookAnswers): void {
  runRoutes(api, answers);
  timeRoutes(api, answers);
  numberRoutes(api, answers);
  alarmRoutes(api, answers);
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
    async (request) => [...(await answers.events(request.query))],
  );
}

function runRoutes(api: Api, answers: BookAnswers): void {
  const words = {
    tags: ['runs'],
    summary: 'Runs that ended in a window, newest first',
    description: `A run is one processing of one load, from pump-down start to the chamber back at atmosphere. ${TIMES}`,
    querystring: pagedQuery,
  };
  api.get('/api/runs', { schema: { ...words, response: { 200: z.array(runRow), ...PROBLEMS } } }, async (request) => [
    ...(await answers.runs(pageOf(request.query))),
  ]);
  api.get('/api/runs.csv', { schema: { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } } }, async (request, reply) =>
    sendCsv(reply, 'runs', csv(RUN_COLUMNS, await answers.runs(pageOf(request.query)))),
  );
  api.get(
    '/api/runs/:id',
    {
      schema: {
        tags: ['runs'],
        summary: 'One run with its phases',
        description: `The id is <chamber>/<start as ISO 8601 UTC>, percent-encoded. ${TIMES}`,
        params: z.object({ id: z.string().min(1).max(120) }),
        response: { 200: runRow, ...PROBLEMS },
      },
    },
    async (request) => answers.run(request.params.id),
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
    ...(await answers.intervals(scopeOf(request.query))),
  ]);
  api.get('/api/equipment-time.csv', { schema: { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } } }, async (request, reply) =>
    sendCsv(reply, 'equipment-time', csv(INTERVAL_COLUMNS, await answers.intervals(scopeOf(request.query)))),
  );
}

function numberRoutes(api: Api, answers: BookAnswers): void {
  const words = {
    tags: ['numbers'],
    summary: 'Utilization, loads, cycle times and alarm statistics of a window',
    description: `The fleet first (chamber null), then each chamber; with \`chamber\` that one alone. ${SHARES} ${TIMES}`,
    querystring: scopeQuery,
  };
  api.get('/api/numbers', { schema: { ...words, response: { 200: z.array(windowNumbers), ...PROBLEMS } } }, async (request) => [
    ...(await answers.numbers(scopeOf(request.query))),
  ]);
  api.get('/api/numbers.csv', { schema: { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } } }, async (request, reply) =>
    sendCsv(reply, 'numbers', csv(NUMBER_COLUMNS, await answers.numbers(scopeOf(request.query)))),
  );
}

function alarmRoutes(api: Api, answers: BookAnswers): void {
  const words = {
    tags: ['alarms'],
    summary: 'Alarm journal: activations in a window, newest first',
    description: `Notices and suppressed alarms are journalled but counted in no rate. ${TIMES}`,
    querystring: pagedQuery,
  };
  api.get('/api/alarms', { schema: { ...words, response: { 200: z.array(alarmRow), ...PROBLEMS } } }, async (request) => [
    ...(await answers.alarms(pageOf(request.query))),
  ]);
  api.get('/api/alarms.csv', { schema: { ...words, response: { 200: CSV_ANSWER, ...PROBLEMS } } }, async (request, reply) =>
    sendCsv(reply, 'alarms', csv(ALARM_COLUMNS, await answers.alarms(pageOf(request.query)))),
  );
}
