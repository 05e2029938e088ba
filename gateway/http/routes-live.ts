/** What is true now: the fleet, one chamber, its trace, the server links, and whether the gateway itself is well. */
import type { FastifyReply } from 'fastify';
import * as z from 'zod';
import { chamberDetail, chamberTile, fleet, health, serverLine, trace } from '../../src/contract.ts';
import type { LiveAnswers, TraceQuery } from './answers-port.ts';
import { CSV_ANSWER, PROBLEMS, TIMES, type Api } from './api.ts';
import { chamberId, span, traceQuery } from './query.ts';
import { sendCsv } from './send-csv.ts';
import { CHAMBER_COLUMNS, SAMPLE_COLUMNS, samplesOf, SERVER_COLUMNS } from './tables-live.ts';

const idParams = z.object({ id: chamberId });

export function liveRoutes(api: Api, answers: LiveAnswers): void {
  api.get(
    '/api/fleet',
    {
      schema: {
        tags: ['live'],
        summary: 'The whole wall: every chamber tile and the fleet strip',
        description: `What the wall shows, of committed facts only. ${TIMES} The same shape arrives over the socket as \`fleet\`.`,
        response: { 200: fleet, ...PROBLEMS },
      },
    },
    async () => answers.fleet(),
  );
  api.get(
    '/api/chambers',
    {
      schema: {
        tags: ['live'],
        summary: 'The tile of every chamber',
        description: TIMES,
        response: { 200: z.array(chamberTile), ...PROBLEMS },
      },
    },
    async () => answers.fleet().chambers,
  );
  api.get(
    '/api/chambers/:id',
    {
      schema: {
        tags: ['live'],
        summary: 'One chamber: tile, standing alarms, the states of today, the last runs',
        description: `${TIMES} Full scale of a gas line in mol/s, RF power in W; \`units\` names the units of the site for display.`,
        params: idParams,
        response: { 200: chamberDetail, ...PROBLEMS },
      },
    },
    async (request) => answers.chamber(request.params.id),
  );
  api.get(
    '/api/chambers/:id/trace',
    {
      schema: {
        tags: ['live'],
        summary: 'Recorded values of chosen signals of one chamber',
        description: `Pressure in Pa, flow in mol/s, power in W, temperature in K. A null value is a gap: nobody saw the value. ${TIMES}`,
        params: idParams,
        querystring: traceQuery,
        response: { 200: trace, ...PROBLEMS },
      },
    },
    async (request) => answers.trace(asked(request.params.id, request.query)),
  );
  api.get(
    '/api/servers',
    {
      schema: {
        tags: ['health'],
        summary: 'How the link to each OPC UA server is doing',
        description:
          'Clock difference (server minus gateway) in ms; counters since the gateway started; tags that could not be read, with the reason.',
        response: { 200: z.array(serverLine), ...PROBLEMS },
      },
    },
    async () => [...answers.servers()],
  );
  liveTables(api, answers);
  healthRoutes(api, answers);
}

function liveTables(api: Api, answers: LiveAnswers): void {
  const table = (tag: string, summary: string, description: string) => ({
    tags: [tag],
    summary,
    description,
    response: { 200: CSV_ANSWER, ...PROBLEMS },
  });
  api.get('/api/chambers.csv', { schema: table('live', 'The tile of every chamber as a table', TIMES) }, async (_request, reply) =>
    sendCsv(reply, { name: 'chambers', columns: CHAMBER_COLUMNS }, answers.fleet().chambers),
  );
  const servers = table(
    'health',
    'How the link to each OPC UA server is doing, as a table',
    'Clock difference in seconds, times in ms or UTC.',
  );
  api.get('/api/servers.csv', { schema: servers }, async (_request, reply) =>
    sendCsv(reply, { name: 'servers', columns: SERVER_COLUMNS }, answers.servers()),
  );
  const samples = table('live', 'Recorded values of one chamber as a table', `One line per sample, SI units named beside it. ${TIMES}`);
  api.get('/api/chambers/:id/trace.csv', { schema: { ...samples, params: idParams, querystring: traceQuery } }, async (request, reply) =>
    sendCsv(reply, { name: 'trace', columns: SAMPLE_COLUMNS }, samplesOf(await answers.trace(asked(request.params.id, request.query)))),
  );
}

function asked(chamber: string, { signals, from, to, maxPoints }: z.infer<typeof traceQuery>): TraceQuery {
  return { chamber, signals: signals === undefined ? null : signalNames(signals), ...span(from, to), maxPoints };
}

function healthRoutes(api: Api, answers: LiveAnswers): void {
  const alive = z.object({ alive: z.literal(true) });
  api.get(
    '/health/live',
    { config: { rateLimit: false }, schema: { tags: ['health'], summary: 'The process turns', response: { 200: alive } } },
    async () => ({ alive: true as const }),
  );
  api.get(
    '/health/ready',
    {
      config: { rateLimit: false },
      schema: {
        tags: ['health'],
        summary: 'The gateway can keep its promises: the store takes facts',
        description: 'A lost server link does not make the gateway unready; see /api/servers for those.',
        response: { 200: health, 503: health },
      },
    },
    async (_request, reply: FastifyReply) => {
      const now = answers.health();
      return reply.code(now.ready ? 200 : 503).send(now);
    },
  );
}

const signalNames = (list: string): readonly string[] =>
  [...new Set(list.split(',').map((name) => name.trim()))].filter((name) => name !== '');
