/** What is printed and mailed: the sheets of a week and of a run as PDF, and what became of a week's mail. */
import type { FastifyReply } from 'fastify';
import * as z from 'zod';
import { weekMail } from '../../src/contract.ts';
import type { PaperAnswers } from './answers-port.ts';
import { PROBLEMS, TIMES, type Api } from './api.ts';
import { runId } from './routes-runs.ts';
import { weekParams } from './routes-weeks.ts';

const PDF_ANSWER = {
  description: 'PDF, on the paper that the site file names. The same numbers give the same bytes.',
  content: { 'application/pdf': { schema: z.any() } },
} as const;

/** Setting a sheet costs much more than reading a number. */
const PAPERS_PER_MINUTE = { config: { rateLimit: { max: 60, timeWindow: 60_000 } } };

export function paperRoutes(api: Api, answers: PaperAnswers): void {
  api.get(
    '/api/weeks/:week.pdf',
    {
      ...PAPERS_PER_MINUTE,
      schema: {
        tags: ['weeks'],
        summary: 'The week page on paper',
        description:
          'One sheet for the manager, and behind it half a sheet for each chamber. Times in hours and minutes, of the zone of the site.',
        params: weekParams,
        response: { 200: PDF_ANSWER, ...PROBLEMS },
      },
    },
    async ({ params }, reply) => sendPdf(reply, `week-${params.week}`, await answers.weekPaper(params.week)),
  );
  api.get(
    '/api/weeks/:week/mail',
    {
      schema: {
        tags: ['weeks'],
        summary: "What became of a week's mail",
        description: `One letter per mail route that the site file names for the summary; and the main numbers that read otherwise today than they were mailed. ${TIMES}`,
        params: weekParams,
        response: { 200: weekMail, ...PROBLEMS },
      },
    },
    async ({ params }) => answers.weekMail(params.week),
  );
  api.get(
    '/api/runs/:id/record.pdf',
    {
      ...PAPERS_PER_MINUTE,
      schema: {
        tags: ['runs'],
        summary: 'The record of a run on paper',
        description:
          'Two sheets: what happened with the plot of it, and set points against what was measured, comparison, alarms and the seal. Times in minutes and seconds (hours where longer), of the zone of the site.',
        params: runId,
        response: { 200: PDF_ANSWER, ...PROBLEMS },
      },
    },
    async ({ params }, reply) => sendPdf(reply, `run-${params.id}`, await answers.runPaper(params.id)),
  );
}

/** Shown by the browser, and saved under a name of harmless letters. */
const sendPdf = (reply: FastifyReply, name: string, bytes: Uint8Array): FastifyReply =>
  reply
    .header('content-disposition', `inline; filename="glowfleet-${name.replaceAll(/[^A-Za-z0-9._-]+/g, '-')}.pdf"`)
    .type('application/pdf')
    .serializer((payload: unknown) => payload as string)
    .send(bytes);
