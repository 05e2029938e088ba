/** What changes from run to run, what that points to, and what is due for maintenance. Each table also as CSV. */
import * as z from 'zod';
import { counters } from '../../src/counter-answer.ts';
import { chamberDriftAnswer, driftFleet } from '../../src/drift-answer.ts';
import { SYMPTOMS } from '../../src/drift-series.ts';
import type { DriftQuery, DriftTables } from './answers-port.ts';
import { CSV_ANSWER, PROBLEMS, TIMES, type Api } from './api.ts';
import { chamberId } from './query.ts';
import { sendCsv } from './send-csv.ts';
import { COUNTER_COLUMNS, DRIFT_COLUMNS, driftPointColumns, MAINTENANCE_COLUMNS } from './tables-drift.ts';

const params = z.object({ chamber: chamberId });
const querystring = z.strictObject({
  recipe: z.string().min(1).max(80).optional().describe('Without it the one in which most has shifted.'),
  measure: z
    .enum(SYMPTOMS as [string, ...string[]])
    .optional()
    .describe('The figure of the chart; without it the one that stands out most.'),
  line: z.coerce.number().int().min(1).max(4).optional().describe('Gas line, for figures that each flow controller has.'),
});
type Query = z.infer<typeof querystring>;

const ADVICE =
  'One figure per run, against the same chamber’s first good runs since the last maintenance told; individuals chart and moving average (NIST e-Handbook 6.3.2). ' +
  'What a pattern points to is advice where to look first, no diagnosis. SI; gain turns it into the unit named.';

const asked = (chamber: string, { recipe, measure, line }: Query): DriftQuery => ({
  chamber,
  recipe: recipe ?? null,
  measure: measure ?? null,
  line: line ?? null,
});

export function driftRoutes(api: Api, answers: DriftTables): void {
  const words = { tags: ['drift'], description: `${ADVICE} ${TIMES}` };
  api.get(
    '/api/drift',
    {
      schema: {
        ...words,
        summary: 'Every chamber by figure: learning, steady, odd run or shifted, and what that points to',
        response: { 200: driftFleet, ...PROBLEMS },
      },
    },
    async () => answers.drift(),
  );
  api.get(
    '/api/drift.csv',
    {
      schema: {
        ...words,
        summary: 'Every figure of every chamber, recipe and gas line as a table',
        response: { 200: CSV_ANSWER, ...PROBLEMS },
      },
    },
    async (_, reply) => sendCsv(reply, { name: 'drift', columns: DRIFT_COLUMNS }, await answers.driftVerdicts()),
  );
  api.get(
    '/api/drift/:chamber',
    {
      schema: {
        ...words,
        summary: 'The control chart of one figure, and the likely causes',
        params,
        querystring,
        response: { 200: chamberDriftAnswer, ...PROBLEMS },
      },
    },
    async (request) => answers.chamberDrift(asked(request.params.chamber, request.query)),
  );
  api.get(
    '/api/drift/:chamber/points.csv',
    { schema: { ...words, summary: 'The runs of that chart as a table', params, querystring, response: { 200: CSV_ANSWER, ...PROBLEMS } } },
    async (request, reply) => {
      const { chart } = await answers.chamberDrift(asked(request.params.chamber, request.query));
      return sendCsv(reply, { name: 'drift-points', columns: driftPointColumns(chart?.measure ?? null) }, chart?.points ?? []);
    },
  );
  counterRoutes(api, answers);
}

function counterRoutes(api: Api, answers: DriftTables): void {
  const words = {
    tags: ['maintenance'],
    description:
      'Own counts, which nobody can clear; the machine’s own meter beside them as a cross-check. Unobserved time is in no count and is told. ' +
      `Hours are milliseconds. Days due are from the use of the last four weeks, with their range. ${TIMES}`,
  };
  api.get(
    '/api/counters',
    {
      schema: {
        ...words,
        summary: 'Pump hours, RF hours and runs, and what is due for maintenance',
        response: { 200: counters, ...PROBLEMS },
      },
    },
    async () => answers.counters(),
  );
  api.get(
    '/api/counters.csv',
    { schema: { ...words, summary: 'Own counts and the machine’s meters as a table', response: { 200: CSV_ANSWER, ...PROBLEMS } } },
    async (_, reply) => sendCsv(reply, { name: 'counters', columns: COUNTER_COLUMNS }, (await answers.counters()).totals),
  );
  api.get(
    '/api/maintenance.csv',
    { schema: { ...words, summary: 'What is due for maintenance as a table', response: { 200: CSV_ANSWER, ...PROBLEMS } } },
    async (_, reply) => sendCsv(reply, { name: 'maintenance', columns: MAINTENANCE_COLUMNS }, (await answers.counters()).maintenance),
  );
}
