/** Acknowledging at a chamber over HTTP: only from our own pages, in the name of a person. */
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterEach, expect, it } from 'vitest';
import { buildApp } from '../../../gateway/http/server.ts';
import { Fault } from '../../../src/fault.ts';
import { doubleAnswers } from './double-answers.ts';

const HOST = { host: '127.0.0.1:8080' };
const OURS = { ...HOST, origin: 'http://127.0.0.1:8080', 'x-glowfleet': '1', 'content-type': 'application/json' };
const PATH = '/api/chambers/PC-01/alarms/RF_FAULT/acknowledge';
const open: FastifyInstance[] = [];
afterEach(() => Promise.all(open.splice(0).map((server) => server.close())));

async function ask(headers: Record<string, string>, body: unknown, answers = doubleAnswers()) {
  const address = { host: '127.0.0.1', port: 0 };
  const own = () => new Set(['http://127.0.0.1:8080']);
  const app = await buildApp({ answers, address, distFolder: join(tmpdir(), 'no-such-folder'), version: '0', log: () => {} }, own);
  open.push(app);
  const answer = await app.inject({ method: 'POST', url: PATH, headers, payload: JSON.stringify(body) });
  return { status: answer.statusCode, body: answer.json<{ text?: string; message?: string }>(), asked: answers.asked };
}

it('passes on who, what and the note, trimmed, and answers what the chamber said', async () => {
  const { status, body, asked } = await ask(OURS, { by: ' A. Person ', note: ' seen ' });
  expect([status, body.text]).toEqual([200, 'RF_FAULT is acknowledged at the chamber.']);
  expect(asked).toEqual([{ chamber: 'PC-01', code: 'RF_FAULT', by: 'A. Person', note: 'seen' }]);
});

it.each([
  ['another origin', { ...OURS, origin: 'http://evil.example' }],
  ['no origin', { ...HOST, 'x-glowfleet': '1', 'content-type': 'application/json' }],
  ['no header of ours', { ...HOST, origin: OURS.origin, 'content-type': 'application/json' }],
])('is refused from %s, and nothing is asked', async (_, headers) => {
  const { status, asked } = await ask(headers, { by: 'A. Person' });
  expect([status, asked]).toEqual([403, []]);
});

it('passes on which earlier activation is meant, a whole number or nothing', async () => {
  const { status, asked } = await ask(OURS, { by: 'A. Person', of: 1_772_440_200_000 });
  expect([status, asked]).toEqual([200, [{ chamber: 'PC-01', code: 'RF_FAULT', by: 'A. Person', note: '', of: 1_772_440_200_000 }]]);
  expect((await ask(OURS, { by: 'A. Person', of: 'the first' })).status).toBe(400);
});

it('needs a name', async () => {
  const { status, asked } = await ask(OURS, { by: '  ' });
  expect([status, asked]).toEqual([400, []]);
});

it('a refusal by the chamber is a problem with its cure', async () => {
  const acknowledgeAlarm = (): never => {
    throw new Fault('conflict', 'The alarm has changed meanwhile. Look at it, then acknowledge again.');
  };
  const { status, body } = await ask(OURS, { by: 'A. Person' }, doubleAnswers({ acknowledgeAlarm }));
  expect([status, body.message]).toEqual([409, 'The alarm has changed meanwhile. Look at it, then acknowledge again.']);
});
