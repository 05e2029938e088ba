import { expect, test } from 'vitest';
import { gatewayFindings, type GatewaySight } from '../../src/finding-gateway.ts';

const well: GatewaySight = {
  disk: { freeBytes: 50e9, sizeBytes: 100e9 },
  slowestCommitMs: 20,
  linkDeaths: 0,
  droppedFacts: 0,
  droppedLive: 0,
  dead: [],
};
const limits = { diskFreePercent: 5, storeSlowS: 5 };
const subjects = (part: Partial<GatewaySight>): string[] => gatewayFindings({ ...well, ...part }, limits).map(({ subject }) => subject);

test('[GF1] a gateway that is well tells nothing; each trouble is told by itself, with what to do', () => {
  expect(subjects({ disk: { freeBytes: 0, sizeBytes: 0 }, dead: [{ route: 'mail', count: 0, lastError: null }] })).toEqual([]);
  expect(subjects({ disk: { freeBytes: 4.9e9, sizeBytes: 100e9 } })).toEqual(['disk']);
  expect(subjects({ disk: { freeBytes: 5e9, sizeBytes: 100e9 } })).toEqual([]);
  expect(gatewayFindings({ ...well, disk: { unread: 'EIO' } }, limits)[0]).toMatchObject({
    subject: 'disk',
    headline: expect.stringContaining('(EIO)') as string,
  });
  expect([subjects({ slowestCommitMs: 4_999 }), subjects({ slowestCommitMs: 5_000 })]).toEqual([[], ['store']]);
  expect(subjects({ linkDeaths: 2, droppedLive: 5 })).toEqual(['link', 'readings']);
  const dead = [
    { route: 'mail', count: 2, lastError: 'The mail server could not be reached.' },
    { route: 'hook', count: 1, lastError: null },
  ];
  const [mail, hook] = gatewayFindings({ ...well, dead }, limits);
  expect(mail).toMatchObject({ subject: 'messages mail', headline: '2 messages by route mail could not be delivered and were given up.' });
  expect(mail?.cure).toMatch(/^The mail server could not be reached\. Send it again/);
  expect(hook?.headline).toBe('A message by route hook could not be delivered and was given up.');
});

test('[GF2] lost facts are told as unobserved time, lost live values are not', () => {
  const [facts] = gatewayFindings({ ...well, droppedFacts: 7, droppedLive: 9 }, limits);
  expect(facts?.headline).toBe('7 readings were dropped, and their time is unobserved: the gateway did not keep up.');
  expect(gatewayFindings({ ...well, droppedLive: 9 }, limits)[0]?.headline).not.toContain('unobserved');
});
