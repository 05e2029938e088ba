/** Runs: found by what is known of them, and one with its record. */
import * as z from 'zod';
import { RUN_OUTCOMES } from '../../src/equipment.ts';
import { foundRun } from '../../src/contract.ts';
import { runRecordAnswer } from '../../src/run-answer.ts';
import { DEVIATIONS } from '../../src/run-facts.ts';
import type { RunAnswers, RunSearch } from './answers-port.ts';
import { CSV_ANSWER, PROBLEMS, TIMES, type Api } from './api.ts';
import { csvQuery, pagedQuery, windowOf, type ScopeQuery } from './query.ts';
import { streamCsv } from './send-csv.ts';
import { cut } from './send-rows.ts';
import { RUN_COLUMNS } from './tables-runs.ts';

const LATEST_MS = 8.64e15;

const part = (what: string) => z.string().min(1).max(80).optional().describe(`Part of the ${what}; small and capital letters alike.`);
const searchFields = {
  load: part('load or lot').describe('Part of the load or lot; without a window of its own it is looked for in all of time.'),
  recipe: part('recipe name'),
  outcome: z.enum(RUN_OUTCOMES).optional(),
  deviation: z
    .enum([...DEVIATIONS, 'any', 'none'])
    .optional()
    .describe('One that was found, any, or none.'),
};
const searchQuery = pagedQuery.extend(searchFields);
const searchCsvQuery = csvQuery.extend(searchFields);
type SearchQuery = ScopeQuery & { readonly [K in keyof typeof searchFields]?: z.infer<(typeof searchFields)[K]> };

function searchOf(query: SearchQuery): RunSearch {
  const isWindowed = query.window !== undefined || query.from !== undefined || query.to !== undefined;
  return {
    window: query.load !== undefined && !isWindowed ? { from: 0, to: LATEST_MS } : windowOf(query),
    chamber: query.chamber ?? null,
    load: query.load,
    recipe: query.recipe,
    outcome: query.outcome,
    deviation: query.deviation,
  };
}

export const runId = z.object({ id: z.string().min(1).max(120).describe('<chamber>/<start as ISO 8601 UTC>, percent-encoded') });

export function runRoutes(api: Api, answers: RunAnswers): void {
  const words = {
    tags: ['runs'],
    summary: 'Runs that ended in a window, newest first',
    description: `A run is one processing of one load, from pump-down start to the chamber back at atmosphere. ${TIMES}`,
  };
  const json = { ...words, querystring: searchQuery, response: { 200: z.array(foundRun), ...PROBLEMS } };
  const table = { ...words, querystring: searchCsvQuery, response: { 200: CSV_ANSWER, ...PROBLEMS } };
  api.get('/api/runs', { schema: json }, async ({ query }, reply) =>
    cut(reply, await answers.runs({ ...searchOf(query), limit: query.limit + 1 }), query.limit),
  );
  api.get('/api/runs.csv', { schema: table }, async ({ query }, reply) =>
    streamCsv(reply, { name: 'runs', columns: RUN_COLUMNS }, { rows: answers.allRuns(searchOf(query)), limit: query.limit }),
  );
  oneRunRoutes(api, answers);
}

function oneRunRoutes(api: Api, answers: RunAnswers): void {
  const one = { tags: ['runs'], summary: 'One run with its phases', description: TIMES, params: runId };
  api.get('/api/runs/:id', { schema: { ...one, response: { 200: foundRun, ...PROBLEMS } } }, async ({ params }) => answers.run(params.id));
  const record = {
    tags: ['runs'],
    summary: 'What proves a run',
    description: `Set and measured values of each stretch, delivered RF energy, gas, vacuum, deviations and alarms; beside each figure what is usual: the 10th, 50th
and 90th percentile of up to 20 good earlier runs of the recipe in this chamber, and of up to 100 in its sisters. The digest is the SHA-256 of the
canonical JSON (in the manner of RFC 8785) of {"record": record, "run": fact}, taken when the run ended; \`intact\` says whether it still is.
Null is not known, never zero. SI units. ${TIMES}`,
    params: runId,
    response: { 200: runRecordAnswer, ...PROBLEMS },
  };
  api.get('/api/runs/:id/record', { schema: record }, async ({ params }) => answers.runRecord(params.id));
}
