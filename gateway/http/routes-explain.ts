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

const NAMES = `Names of a window: total-utilization, operational-utilization, total-uptime, operational-uptime, equipment-dependent-uptime, supplier-dependent-uptime, coverage, time/<state>, time-share/<state>, time-total, oee/<e79 or iso22400>, iso22400/<name>, failures and assists (or failures/<in-production, cut, open>), mtbf-productive, mtbf-uptime, mcbf, mtb-assists, mttr, mtol, unexplained-<downtime, stops, share>, stop/<its begin, epoch ms>, loads/<completed, aborted, interrupted, not-fully-observed, engineering>, recipe-loads/<recipe>, shift-loads/<shift>, loads-per-shift/<shift>, alarms, alarms-per-10-min, alarms-peak, alarm/<chamber>/<code>, alarm-share/<chamber>/<code>, alarm-target/<line>/<position or chamber>, alarm-priority/<priority>/<position or chamber>, alarm-fleeting/<chamber>/<code> (also alarm-active, alarm-index), alarm-delay/<on-delay, off-delay>/<ms>/<chamber>/<code>, loss/<state>/<cause> (also loss-loads, loss-times), waiting/<reason>, waiting-times/<reason>, process-time/<percentile>/<recipe> (also cycle-time, wait-for-unload), wait-sum/<recipe>, cycles/<recipe, or nothing for all> (also cycles-busy), cycle-part/<part>/<recipe, or nothing> (also minute, minute-busy).
Of a week beside those before: usual/loads, usual/operational-utilization, usual/loss/<state>/<cause>.
Of a run, with \`run\`: process-time, phase/<phase>, coverage, deviations, alarm/<code>, figure/<name of the run record's figures, or known-energy, set-energy, energy-share, vswr, dropouts, gas-before-rf, gas-total/<line>>, usual/<figure> and sisters/<figure>, stretch/<its begin, epoch ms>/time, stretch/<begin>/<signal>/<set, mean, min, max, out>, count/<pump, rf, runs, unobserved>.
Of one chamber now: drift-usual/<figure>/<gas line or nothing>/<recipe or nothing>, drift-change/<the same>, counter/<pump-hours, rf-hours, runs, unobserved>, maintenance/<interval>, maintenance-used/<interval>, finish, elapsed, waiting-time, state-time, data-age.
Of the fleet's running shift now: usual-shift/loads, usual-shift/operational-utilization.`;

const scope = scopeQuery.extend({
  number: z.string().min(1).max(300).describe(NAMES),
  chamber: chamberId.optional().describe('One chamber; without it the fleet.'),
  run: z.string().min(3).max(200).optional().describe('The id of a run, for one of its own numbers; then no window is asked for.'),
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
  { head: 'amount (in the unit of the answer)', cell: (e) => e.amount },
];

export function explainRoutes(api: Api, answers: ExplainAnswers): void {
  const words = {
    tags: ['numbers'],
    summary: 'How one number of a window, a week, a run or a chamber came about',
    description: `value = scale x numerator / denominator, or the numerator alone; the parts of a term sum to it. What was measured and not divided has no numerator. ${NAMES} ${TIMES}`,
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
  const { number, chamber = null, asOf = null } = query;
  return { number, chamber, asOf, span: spanOf(query) };
}

function spanOf(query: z.infer<typeof scope>): ExplainQuery['span'] {
  const { run, week } = query;
  const named = [run, week, query.window, query.from ?? query.to].filter((one) => one !== undefined);
  if (named.length > 1) throw new Fault('invalid', 'Ask for either `run`, or `week`, or `window`, or `from` and `to`.');
  return run !== undefined ? { run } : week !== undefined ? { week } : computedWindowOf(query);
}
