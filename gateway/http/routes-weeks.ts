/** The manager's page as data, one ISO 8601 week at a time. */
import * as z from 'zod';
import { weekLine } from '../../src/contract.ts';
import { weekPage } from '../../src/numbers.ts';
import type { WeekAnswers } from './answers-port.ts';
import { CSV_ANSWER, PROBLEMS, SHARES, TIMES, type Api } from './api.ts';
import { sendCsv } from './send-csv.ts';
import { LOSS_COLUMNS, lossesOf, WEEK_COLUMNS } from './tables-computed.ts';
import { NUMBER_COLUMNS } from './tables.ts';
import { WEEK_LINE_COLUMNS, weekLines } from './tables-week.ts';

const isoWeek = z.string().regex(/^\d{4}-W(0[1-9]|[1-4]\d|5[0-3])$/, 'an ISO 8601 week such as 2026-W48');
export const weekParams = z.object({ week: isoWeek });

export function weekRoutes(api: Api, answers: WeekAnswers): void {
  api.get(
    '/api/weeks',
    {
      schema: {
        tags: ['weeks'],
        summary: 'Weeks that hold facts, newest first',
        description: `ISO 8601 weeks in the time zone of the site: 167, 168 or 169 hours in most zones. ${TIMES}`,
        response: { 200: z.array(weekLine), ...PROBLEMS },
      },
    },
    async () => [...(await answers.weeks())],
  );
  api.get(
    '/api/weeks/:week',
    {
      schema: {
        tags: ['weeks'],
        summary: 'The week page: utilization, equipment time, loads, losses, alarms, coverage',
        description: `${SHARES} ${TIMES}`,
        params: weekParams,
        response: { 200: weekPage, ...PROBLEMS },
      },
    },
    async (request) => answers.week(request.params.week),
  );
  api.get(
    '/api/weeks/:week.csv',
    {
      schema: {
        tags: ['weeks'],
        summary: 'Every number of the week page, one per line',
        description: `In long form: section, chamber, name, value, unit, bounds, base and coverage; times in hours or seconds, as the unit says. ${SHARES}`,
        params: weekParams,
        response: { 200: CSV_ANSWER, ...PROBLEMS },
      },
    },
    async (request, reply) => {
      const page = await answers.week(request.params.week);
      return sendCsv(reply, { name: `week-${page.week}`, columns: WEEK_LINE_COLUMNS }, weekLines(page));
    },
  );
  weekTables(api, answers);
}

function weekTables(api: Api, answers: WeekAnswers): void {
  const schema = (summary: string, description: string) => ({
    schema: { tags: ['weeks'], summary, description, params: weekParams, response: { 200: CSV_ANSWER, ...PROBLEMS } },
  });
  api.get(
    '/api/weeks/:week/numbers.csv',
    schema('The numbers of one week as a table', `The fleet, then each chamber. ${SHARES} Times in hours.`),
    async (request, reply) => {
      const page = await answers.week(request.params.week);
      return sendCsv(reply, { name: `numbers-${page.week}`, columns: NUMBER_COLUMNS }, [page.fleet, ...page.chambers]);
    },
  );
  api.get(
    '/api/weeks/:week/previous.csv',
    schema('The weeks before one week as a table', `Up to eight, oldest first. ${SHARES} Times in hours.`),
    async (request, reply) => {
      const page = await answers.week(request.params.week);
      return sendCsv(reply, { name: `weeks-before-${page.week}`, columns: WEEK_COLUMNS }, page.previous);
    },
  );
  api.get(
    '/api/weeks/:week/losses.csv',
    schema('The losses of one week as a table', 'By cause: the fleet, then each chamber. Times in hours.'),
    async (request, reply) => {
      const page = await answers.week(request.params.week);
      return sendCsv(reply, { name: `losses-${page.week}`, columns: LOSS_COLUMNS }, lossesOf(page.losses));
    },
  );
}
