/** What a person sends about an alert, as the routes take it: checked, with a name, from our own pages only. */
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { buildApp } from '../../../gateway/http/server.ts';
import { inboxAlert } from '../../../src/alert-inbox.ts';
import { mute } from '../../../src/alert-mute.ts';
import { Fault } from '../../../src/fault.ts';
import { exampleAlert, T0 } from '../wire-examples.ts';
import { doubleAnswers } from './double-answers.ts';

const OWN = 'http://127.0.0.1:8080';
const ID = exampleAlert().id;
const HEADERS = { host: '127.0.0.1:8080', origin: OWN, 'x-glowfleet': '1', 'content-type': 'application/json' };
let answers: ReturnType<typeof doubleAnswers>;
let server: FastifyInstance;

const open = async (change: Parameters<typeof doubleAnswers>[0] = {}): Promise<void> => {
  answers = doubleAnswers(change);
  const address = { host: '127.0.0.1', port: 0 };
  server = await buildApp({ answers, address, distFolder: join(tmpdir(), 'none'), version: '0.1.0', log: () => {} }, () => new Set([OWN]));
};
beforeEach(() => open());
afterEach(() => server.close());

const post = (url: string, body: unknown, headers: Record<string, string> = HEADERS) =>
  server.inject({ method: 'POST', url, headers, payload: JSON.stringify(body) });
const act = (deed: string, body: unknown, id = ID) => post(`/api/alerts/${encodeURIComponent(id)}/${deed}`, body);

describe('acts', () => {
  it.each([
    ['acknowledge', { by: 'A. Brandt' }, { id: ID, by: 'A. Brandt' }],
    ['take', { by: ' A. Brandt ' }, { id: ID, by: 'A. Brandt', from: undefined }],
    ['take', { by: 'A. Brandt', from: 'B. Cole' }, { id: ID, by: 'A. Brandt', from: 'B. Cole' }],
    ['give-back', { by: 'A. Brandt' }, { id: ID, by: 'A. Brandt' }],
    ['comment', { by: 'A. Brandt', text: ' hose kinked ' }, { id: ID, by: 'A. Brandt', text: 'hose kinked' }],
  ])('%s answers with the alert afterwards', async (deed, body, asked) => {
    const answer = await act(deed, body);
    expect(answer.statusCode).toBe(200);
    expect(inboxAlert.parse(answer.json()).id).toBe(ID);
    expect(answers.asked).toEqual([asked]);
  });

  it.each([
    ['acknowledge', {}, 'by'],
    ['take', { by: '  ' }, 'by'],
    ['take', { by: 'A. Brandt', from: 'x'.repeat(81) }, 'from'],
    ['comment', { by: 'A. Brandt', text: ' ' }, 'text'],
    ['comment', { by: 'A. Brandt', text: 'x'.repeat(1001) }, 'text'],
  ])('%s of %j is refused, and says where it is wrong', async (deed, body, where) => {
    const answer = await act(deed, body);
    expect([answer.statusCode, answer.json().code]).toEqual([400, 'invalid']);
    expect(answer.json().message).toContain(`"${where}"`);
    expect(answers.asked).toEqual([]);
  });

  it.each(['acknowledge', 'take', 'give-back', 'comment'])('%s of an unknown alert is not found', async (deed) => {
    expect((await act(deed, { by: 'x', text: 'y' }, 'none')).statusCode).toBe(404);
  });

  it('a conflict says who was faster', async () => {
    await server.close();
    await open({ take: () => Promise.reject(new Fault('conflict', 'B. Cole has taken this alert.')) });
    const answer = await act('take', { by: 'A. Brandt' });
    expect([answer.statusCode, answer.json()]).toEqual([409, { code: 'conflict', message: 'B. Cole has taken this alert.' }]);
  });
});

describe('mutes', () => {
  const draft = { kind: 'burst', chamber: 'PC-06', until: T0, why: 'part is on order', by: 'A. Brandt' };

  it('are made with a name, an end and a reason, and ended with a name', async () => {
    const made = await post('/api/mutes', { ...draft, alert: ID });
    expect(mute.parse(made.json()).who).toBe('A. Brandt');
    const ended = await post('/api/mutes/3/unmute', { by: 'B. Cole' });
    expect(mute.parse(ended.json()).endedBy).toBe('B. Cole');
    expect(answers.asked).toEqual([
      { ...draft, shared: null, alert: ID },
      { id: 3, by: 'B. Cole' },
    ]);
  });

  it.each([
    [{ why: '' }, 'why'],
    [{ by: '' }, 'by'],
    [{ kind: 'everything' }, 'kind'],
    [{ until: 'tomorrow' }, 'until'],
    [{ chamber: undefined }, 'chamber'],
  ])('with %j are refused, and say where', async (change, where) => {
    const answer = await post('/api/mutes', { ...draft, ...change });
    expect(answer.statusCode).toBe(400);
    expect(answer.json().message).toContain(`"${where}"`);
  });

  it('that nobody knows cannot be ended', async () => {
    expect((await post('/api/mutes/99/unmute', { by: 'x' })).statusCode).toBe(404);
    expect((await post('/api/mutes/x/unmute', { by: 'x' })).statusCode).toBe(400);
  });
});

it.each([
  [`/api/alerts/${encodeURIComponent(ID)}/acknowledge`],
  [`/api/alerts/${encodeURIComponent(ID)}/take`],
  [`/api/alerts/${encodeURIComponent(ID)}/give-back`],
  [`/api/alerts/${encodeURIComponent(ID)}/comment`],
  ['/api/mutes'],
  ['/api/mutes/3/unmute'],
])('%s is taken from our own pages only', async (url) => {
  const body = { by: 'x', text: 'y', kind: 'burst', chamber: null, until: T0, why: 'z' };
  const { 'x-glowfleet': _own, ...plain } = HEADERS;
  expect((await post(url, body, { ...HEADERS, origin: 'https://evil.test' })).statusCode).toBe(403);
  expect((await post(url, body, plain)).statusCode).toBe(403);
  expect(answers.asked).toEqual([]);
  // A GET changes nothing, whatever it says.
  await server.inject({ url, headers: HEADERS, query: { by: 'x' } });
  expect(answers.asked.filter((one) => typeof one === 'object')).toEqual([]);
});
