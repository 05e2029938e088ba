import fc from 'fast-check';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { FastifyInstance } from 'fastify';
import { buildApp } from '../../../gateway/http/server.ts';
import { problem } from '../../../src/contract.ts';
import { HOSTILE_TEXTS } from '../hostile-texts.ts';
import { doubleAnswers } from './double-answers.ts';

const OWN = 'http://127.0.0.1:8080';
const failures: unknown[] = [];
let server: FastifyInstance;

beforeAll(async () => {
  const address = { host: '127.0.0.1', port: 0 };
  const log = (_message: string, error?: unknown) => failures.push(error);
  server = await buildApp(
    { answers: doubleAnswers(), address, distFolder: join(tmpdir(), 'none'), version: '0.1.0', log },
    () => new Set([OWN]),
  );
});
afterAll(() => server.close());

const text = fc.oneof(fc.string({ unit: 'binary', maxLength: 60 }), fc.constantFrom(...HOSTILE_TEXTS), fc.integer().map(String));
const part = text.map((t) => encodeURIComponent(t.toWellFormed()));
const path = fc.oneof(
  fc.constantFrom(
    '/api/fleet',
    '/api/runs',
    '/api/runs.csv',
    '/api/equipment-time',
    '/api/numbers.csv',
    '/api/alarms',
    '/api/weeks',
    '/api/alerts',
    '/api/alerts.csv',
    '/api/mutes',
    '/api/events',
    '/api/servers',
  ),
  fc.tuple(fc.constantFrom('/api/chambers/', '/api/runs/', '/api/weeks/', '/api/alerts/', '/api/mutes/', '/'), part).map((p) => p.join('')),
  part.map((p) => `/api/chambers/${p}/trace`),
);
const query = fc.array(
  fc.tuple(
    fc.constantFrom(
      'window',
      'from',
      'to',
      'chamber',
      'limit',
      'after',
      'signals',
      'maxPoints',
      'state',
      'kind',
      'words',
      'takenBy',
      'x',
      '__proto__',
    ),
    part,
  ),
  { maxLength: 4 },
);

/** Guessing is limited per address, so each asker is another one here. */
let asker = 0;
const remoteAddress = () => `10.${(asker >> 16) & 255}.${(asker >> 8) & 255}.${asker++ & 255}`;

describe('whatever is asked', () => {
  it('no question is a fault of the gateway, and every refusal is a problem in words', async () => {
    await fc.assert(
      fc.asyncProperty(path, query, async (where, pairs) => {
        const url = `${where}?${pairs.map((pair) => pair.join('=')).join('&')}`;
        const answer = await server.inject({ url, headers: { host: '127.0.0.1:8080' }, remoteAddress: remoteAddress() });
        expect(failures).toEqual([]);
        expect(answer.statusCode).toBeLessThan(500);
        if (answer.statusCode >= 400) expect(problem.parse(answer.json()).message).toMatch(/^.{10,}[.!?]$/su);
      }),
      { seed: 20, numRuns: 1500 },
    );
  });

  it('no body changes anything but a name of a person', async () => {
    const body = fc.oneof(
      text,
      fc.json(),
      fc.record({ by: text }).map((b) => JSON.stringify(b)),
    );
    await fc.assert(
      fc.asyncProperty(part, body, async (id, payload) => {
        const headers = { host: '127.0.0.1:8080', origin: OWN, 'x-glowfleet': '1', 'content-type': 'application/json' };
        const answer = await server.inject({
          method: 'POST',
          url: `/api/alerts/${id}/acknowledge`,
          headers,
          payload,
          remoteAddress: remoteAddress(),
        });
        expect(failures).toEqual([]);
        expect([200, 400, 404, 413, 414]).toContain(answer.statusCode);
      }),
      { seed: 21, numRuns: 500 },
    );
  });
});
