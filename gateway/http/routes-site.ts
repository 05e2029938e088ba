/** The site file: which is in force, what changed when, and a person's order to read it now. It is also read by itself when it was written. */
import { byPerson } from '../../src/alert-inbox.ts';
import { siteAnswer, siteReload } from '../../src/site-answer.ts';
import type { SiteAnswers } from './answers-port.ts';
import { ACT_PROBLEMS, CSV_ANSWER, PROBLEMS, TIMES, type Api } from './api.ts';
import { sendCsv } from './send-csv.ts';
import { SITE_CHANGE_COLUMNS, siteChangeRows } from './tables-site.ts';

const tags = ['health'];

export function siteRoutes(api: Api, answers: SiteAnswers): void {
  api.get(
    '/api/site',
    {
      schema: {
        tags,
        summary: 'The site file: whether the one on disk is in force, and what was changed when',
        description: `A file with faults changes nothing: \`faults\` then says, a line each, where, what was seen and what is allowed. ${TIMES}`,
        response: { 200: siteAnswer, ...PROBLEMS },
      },
    },
    async () => answers.site(),
  );
  api.get(
    '/api/site/changes.csv',
    {
      schema: {
        tags,
        summary: 'What was changed by the site file, as a table, newest first',
        description: `One line per change, in words. ${TIMES}`,
        response: { 200: CSV_ANSWER, ...PROBLEMS },
      },
    },
    async (_request, reply) =>
      sendCsv(reply, { name: 'site-changes', columns: SITE_CHANGE_COLUMNS }, siteChangeRows(answers.site().takings)),
  );
  api.post(
    '/api/site/reload',
    {
      schema: {
        tags,
        summary: 'Reads the site file now',
        description:
          'Answers with what it changed, in words; 400 with a line per fault when it is not taken over. A file that was written is read by itself within seconds.',
        body: byPerson,
        response: { 200: siteReload, ...ACT_PROBLEMS },
      },
    },
    async (request) => answers.reloadSite(request.body.by),
  );
}
