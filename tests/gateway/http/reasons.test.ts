/** The routes of reasons and stops: shapes, tables, and that only our own pages tell anything. */
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterEach, describe, expect, it } from 'vitest';
import * as z from 'zod';
import { buildApp } from '../../../gateway/http/server.ts';
import { problem, reasonChoice, reasonRow, stopsPage } from '../../../src/contract.ts';
import { exampleReason, T0 } from '../wire-examples.ts';
import { doubleAnswers } from './double-answers.ts';

const HOST = { host: '127.0.0.1:8080' };
const OURS = { ...HOST, origin: 'http://127.0.0.1:8080', 'x-glowfleet': '1', 'content-type': 'application/json' };
const open: FastifyInstance[] = [];
afterEach(() => Promise.all(open.splice(0).map((server) => server.close())));

async function app(answers = doubleAnswers()): Promise<FastifyInstance> {
  const address = { host: '127.0.0.1', port: 0 };
  const built = await buildApp(
    { answers, address, distFolder: join(tmpdir(), 'no-such-folder'), version: '0', log: () => {} },
    () => new Set(['http://127.0.0.1:8080']),
  );
  open.push(built);
  return built;
}

const enter = '/api/chambers/PC-01/reasons';
const body = { from: T0, to: null, state: 'unscheduled-downtime', reason: ' vacuum pump ', by: ' A. Person ' };
const post = (server: FastifyInstance, url: string, payload: unknown, headers: Record<string, string> = OURS) =>
  server.inject({ method: 'POST', url, headers, payload: typeof payload === 'string' ? payload : JSON.stringify(payload) });

describe('reasons over HTTP', () => {
  it.each([
    ['/api/reasons?window=week&chamber=PC-01', z.array(reasonRow)],
    ['/api/reason-list', z.array(reasonChoice)],
    ['/api/stops?from=0&to=3600000', stopsPage],
  ] as const)('%s answers in its schema', async (url, schema) => {
    const answer = await (await app()).inject({ url, headers: HOST });
    expect(answer.statusCode).toBe(200);
    expect(z.safeParse(schema, answer.json()).error).toBeUndefined();
  });

  it.each([
    ['/api/reasons.csv', 'entry,chamber,from (UTC),to as entered (UTC),ended (UTC),state,reason'],
    ['/api/stops.csv', 'chamber,from (UTC),to (UTC),goes on,down (s),observed'],
  ])('%s is a table', async (url, head) => {
    const answer = await (await app()).inject({ url, headers: HOST });
    expect(answer.headers['content-type']).toBe('text/csv; charset=utf-8');
    expect(answer.body.split('\r\n')[0]?.startsWith(head)).toBe(true);
    expect(answer.body.split('\r\n')).toHaveLength(3);
  });

  it('what a person wrote runs in no spreadsheet', async () => {
    const answers = doubleAnswers({ reasons: async () => [exampleReason({ note: '=cmd|x', by: '@SUM(A1)' })] });
    const answer = await (await app(answers)).inject({ url: '/api/reasons.csv', headers: HOST });
    expect(answer.body).toContain("'=cmd|x,'@SUM(A1)");
  });

  it('our own page may enter and take back, with texts trimmed', async () => {
    const answers = doubleAnswers();
    const server = await app(answers);
    const entered = await post(server, enter, body);
    expect([entered.statusCode, reasonRow.parse(entered.json()).entry]).toEqual([200, 'a1']);
    expect(answers.asked).toEqual([{ ...body, chamber: 'PC-01', reason: 'vacuum pump', by: 'A. Person', note: '' }]);
    const back = await post(server, '/api/reasons/a1/withdraw', { by: 'B. Person' });
    expect(reasonRow.parse(back.json()).withdrawnBy).toBe('B. Person');
    expect((await post(server, '/api/reasons/a2/withdraw', { by: 'B. Person' })).statusCode).toBe(404);
  });

  it.each([
    ['another origin', { origin: 'http://127.0.0.1:8081' }],
    ['a look-alike origin', { origin: 'http://127.0.0.1:8080.evil.test' }],
    ['no header of ours', { 'x-glowfleet': '' }],
    ['a form', { 'content-type': 'application/x-www-form-urlencoded' }],
  ])('%s changes nothing', async (_, change) => {
    const answers = doubleAnswers();
    const server = await app(answers);
    for (const url of [enter, '/api/reasons/a1/withdraw']) {
      const answer = await post(server, url, body, { ...OURS, ...change });
      expect([400, 403]).toContain(answer.statusCode);
      expect(problem.parse(answer.json()).message.length).toBeGreaterThan(20);
    }
    expect(answers.asked).toEqual([]);
  });

  it.each([
    ['no person', { by: '  ' }],
    ['a name too long', { by: 'x'.repeat(81) }],
    ['a note too long', { note: 'x'.repeat(301) }],
    ['a time that is no number', { from: '2026-11-25' }],
    ['a part of a millisecond', { to: T0 + 0.5 }],
    ['no end at all', { to: undefined }],
    ['a state nobody can tell', { state: 'nonscheduled' }],
    ['unobserved', { state: 'unobserved' }],
    ['work on no part', { workedOn: ['door'] }],
  ])('%s is refused before anybody is asked', async (_, change) => {
    const answers = doubleAnswers();
    const answer = await post(await app(answers), enter, { ...body, ...change });
    expect([answer.statusCode, answers.asked]).toEqual([400, []]);
  });

  it('a GET tells nothing', async () => {
    const answers = doubleAnswers();
    const server = await app(answers);
    for (const url of [enter, '/api/reasons/a1/withdraw']) expect((await server.inject({ url, headers: OURS })).statusCode).toBe(404);
    expect(answers.asked).toEqual([]);
  });
});
