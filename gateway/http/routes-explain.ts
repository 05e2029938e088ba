/** How a number came about: formula, base, source, bounds, what was left out, and the stretches and runs it was made of. Also as a table. */
import * as z from 'zod';
import { explanation, type Evidence } from '../../src/explanation.ts';
import type { ExplainAnswers, ExplainQuery } from './answers-port.ts';
import { CSV_ANSWER, PROBLEMS, TIMES, type Api } from './api.ts';
import { seconds, utc, type Column } from './csv.ts';
import { chamberId, computedWindowOf, scopeQuery } from './query.ts';
import { Fault } from '../../src/fault.ts';
import { sendCsv } from './send-csv.ts';

const MOST_ROWS = 500;
const MOST_TABLE_ROWS = 100_000;

const NAMES = `Names: total-utilization, operational-utilization, total-uptime, operational-uptime, equipment-dependent-uptime, supplier-dependent-uptime, coverage, time/<state>, oee/e79, oee/iso22400, failures, assists, mtbf-productive, mtbf-uptime, mcbf, mtb-assists, mttr, mtol, unexplained-downtime, loads/<completed, aborted, interrupted, not-fully-observed, engineering>, alarms, alarms-per-10-min, loss/<state>/<cause>, waiting/<reason>, process-time/<percentile>/<recipe>, cycle-time/<percentile>/<recipe>, wait-for-unload/<percentile>/<recipe>, cycle-part/<part>/<recipe, or nothing for all>.`;

const scope = scopeQuery.extend({
  number: z.string().min(1).max(300).describe(NAMES),
  chamber: chamberId.optional().describe('One chamber; without it the fleet.'),
  week: z
    .string()
    .regex(/^\d{4}-W\d{2}$/, 'an ISO 8601 week such as 2026-W48')
    .optional()
    .describe('An ISO 8601 week instead of `window` or `from` and `to`.'),
  asOf: z.coerce
    .number()
    .int()
    .min(0)
    .optional()
    .describe(
      'The number as it stood when the fact with this sequence (`seq` of /api/events) was the newest: before a gap was healed or a reason told.',
    ),
});
const querystring = scope.extend({
  offset: z.coerce.number().int().min(0).max(10_000_000).default(0).describe('Rows of `madeOf` to pass over, newest first.'),
  limit: z.coerce.number().int().min(1).max(MOST_ROWS).default(50).describe(`At most this many rows of \`madeOf\`, 1 to ${MOST_ROWS}.`),
});

const COLUMNS: readonly Column<Evidence>[] = [
  { head: 'chamber', cell: (e) => e.chamber },
  { head: 'from (UTC)', cell: (e) => utc(e.from) },
  { head: 'to (UTC)', cell: (e) => utc(e.to) },
  { head: 'duration (s)', cell: (e) => seconds(e.to - e.from) },
  { head: 'state', cell: (e) => e.state },
  { head: 'what', cell: (e) => e.text },
  { head: 'counts as', cell: (e) => e.counts },
  { head: 'run', cell: (e) => e.run },
  { head: 'amount (ms, or count)', cell: (e) => e.amount },
];

export function explainRoutes(api: Api, answers: ExplainAnswers): void {
  const words = {
    tags: ['numbers'],
    summary: 'How one number of a window or a week came about',
    description: `value = scale x numerator / denominator, or the numerator alone; the parts of a term sum to it. ${NAMES} ${TIMES}`,
  };
  api.get('/api/explain', { schema: { ...words, querystring, response: { 200: explanation, ...PROBLEMS } } }, async ({ query }) =>
    answers.explain({ ...questionOf(query), offset: query.offset, limit: query.limit }),
  );
  api.get(
    '/api/explain.csv',
    {
      schema: {
        ...words,
        summary: 'What one number was made of, as a table',
        querystring: scope,
        response: { 200: CSV_ANSWER, ...PROBLEMS },
      },
    },
    async ({ query }, reply) => {
      const { madeOf } = await answers.explain({ ...questionOf(query), offset: 0, limit: MOST_TABLE_ROWS });
      return sendCsv(reply, { name: 'explanation', columns: COLUMNS }, madeOf);
    },
  );
}

function questionOf(query: z.infer<typeof scope>): Omit<ExplainQuery, 'offset' | 'limit'> {
  const { number, chamber = null, week, asOf = null } = query;
  if (week === undefined) return { number, chamber, asOf, span: computedWindowOf(query) };
  if (query.window !== undefined || query.from !== undefined || query.to !== undefined)
    throw new Fault('invalid', 'Ask for either `week`, or `window`, or `from` and `to`.');
  return { number, chamber, asOf, span: { week } };
}
