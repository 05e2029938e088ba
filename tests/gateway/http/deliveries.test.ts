/** The routes of messages: shapes, tables, and that only our own pages send, test or set aside. */
import type { FastifyInstance } from 'fastify';
import { afterEach, describe, expect, it } from 'vitest';
import * as z from 'zod';
import { buildApp } from '../../../gateway/http/server.ts';
import { deliveriesChanged, delivery, deliveryRow, problem, routeLine } from '../../../src/contract.ts';
import { exampleDelivery, exampleRoute } from '../wire-examples.ts';
import { doubleAnswers } from './double-answers.ts';

const HOST = { host: '127.0.0.1:8080' };
const OURS = { ...HOST, origin: 'http://127.0.0.1:8080', 'x-glowfleet': '1', 'content-type': 'application/json' };
const open: FastifyInstance[] = [];
afterEach(() => Promise.all(open.splice(0).map((server) => server.close())));

async function app(answers = doubleAnswers()): Promise<FastifyInstance> {
  const address = { host: '127.0.0.1', port: 0 };
  const parts = { answers, address, distFolder: import.meta.dirname, version: '0', log: () => {} };
  const built = await buildApp(parts, () => new Set(['http://127.0.0.1:8080']));
  open.push(built);
  return built;
}
const post = (server: FastifyInstance, url: string, payload: unknown, headers: Record<string, string> = OURS) =>
  server.inject({ method: 'POST', url, headers, payload: JSON.stringify(payload) });
const id = encodeURIComponent(exampleDelivery().id);

describe('messages over HTTP', () => {
  it.each([
    ['/api/routes', z.array(routeLine)],
    ['/api/deliveries?state=dead&route=hook&limit=5', z.array(deliveryRow)],
  ] as const)('%s answers in its schema', async (url, schema) => {
    const answer = await (await app()).inject({ url, headers: HOST });
    expect(answer.statusCode).toBe(200);
    expect(z.safeParse(schema, answer.json()).error).toBeUndefined();
    expect(answer.json()).toHaveLength(1);
  });

  it('what is asked reaches the answers, one more than wanted so that the page knows of more', async () => {
    const answers = doubleAnswers();
    await (await app(answers)).inject({ url: '/api/deliveries?state=dead&limit=5', headers: HOST });
    expect(answers.asked).toEqual([{ state: 'dead', route: undefined, limit: 6 }]);
    const wrong = await (await app()).inject({ url: '/api/deliveries?state=lost', headers: HOST });
    expect(wrong.statusCode).toBe(400);
  });

  it.each([
    ['/api/routes.csv', 'route,type,goes to,state,last delivered (UTC)'],
    ['/api/deliveries.csv', 'message,alert,headline,route,stage,state'],
  ])('%s is a table', async (url, head) => {
    const answer = await (await app()).inject({ url, headers: HOST });
    expect(answer.headers['content-type']).toBe('text/csv; charset=utf-8');
    expect(answer.body.split('\r\n')[0]?.startsWith(head)).toBe(true);
    expect(answer.body.split('\r\n')).toHaveLength(3);
  });

  it('what a receiver said runs in no spreadsheet', async () => {
    const answers = doubleAnswers({ routes: () => [exampleRoute({ lastError: '=cmd|x' })] });
    expect((await (await app(answers)).inject({ url: '/api/routes.csv', headers: HOST })).body).toContain("'=cmd|x");
  });

  it.each([
    ['/api/routes/hook/test', { route: 'hook', by: 'A. Beck' }],
    [`/api/deliveries/${id}/resend`, { id: exampleDelivery().id, by: 'A. Beck' }],
    [`/api/deliveries/${id}/set-aside`, { id: exampleDelivery().id, by: 'A. Beck' }],
    ['/api/routes/hook/resend', { route: 'hook', by: 'A. Beck' }],
    ['/api/routes/hook/set-aside', { route: 'hook', by: 'A. Beck' }],
  ])('%s: our own page may, in a name; nobody else, and no GET', async (url, asked) => {
    const shape = z.union([delivery, deliveriesChanged]);
    const answers = doubleAnswers();
    const server = await app(answers);
    const done = await post(server, url, { by: ' A. Beck ' });
    expect([done.statusCode, z.safeParse(shape, done.json()).error]).toEqual([200, undefined]);
    expect(answers.asked).toEqual([asked]);
    expect((await post(server, url, { by: ' ' })).statusCode).toBe(400);
    expect((await post(server, url, { by: 'x' }, { ...OURS, origin: 'http://evil.example' })).statusCode).toBe(403);
    expect((await server.inject({ url, headers: HOST })).statusCode).toBe(404);
    expect(answers.asked).toHaveLength(1);
  });

  it.each([
    '/api/routes/nowhere/test',
    '/api/routes/nowhere/resend',
    '/api/deliveries/nothing/resend',
    '/api/deliveries/nothing/set-aside',
  ])('%s names nothing', async (url) => {
    const answer = await post(await app(), url, { by: 'A. Beck' });
    expect([answer.statusCode, z.safeParse(problem, answer.json()).error]).toEqual([404, undefined]);
  });
});
