/** A server's history is followed only so far, with a double of the library's session that always has one more page. */
import { DataValue, HistoryData, HistoryReadResult, StatusCodes, Variant, type ClientSession } from 'node-opcua';
import { expect, test } from 'vitest';
import { archived } from '../../../gateway/opcua/archive.ts';

const NOW = 1_000_000_000;

/** One tag, of the last minute. */
const minuteGap = (session: ClientSession, steadyMs: () => number) => ({
  session,
  nodes: [{ tag: 0, nodeId: 'ns=1;s=a' }],
  limit: 10,
  from: NOW - 60_000,
  now: () => NOW,
  steadyMs,
  speed: 1,
});

test('a server that has one more page for ever is left, and what it told before is kept', async () => {
  let asked = 0;
  const page = (): HistoryReadResult =>
    new HistoryReadResult({
      statusCode: StatusCodes.Good,
      continuationPoint: Buffer.from('more'),
      historyData: new HistoryData({
        dataValues: [
          new DataValue({ value: new Variant({ dataType: 'Double', value: 1 }), sourceTimestamp: new Date(NOW - 60_000 + asked) }),
        ],
      }),
    });
  const session = { historyRead: () => ((asked += 1), Promise.resolve({ results: [page()] })) } as unknown as ClientSession;
  const told = [];
  for await (const values of archived(minuteGap(session, () => 0))) told.push(...values);
  expect(told).toHaveLength(asked);
  expect(asked).toBeLessThanOrEqual(100);
});

test('a server that answers slowly is not waited for beyond the patience, however many pages it has', async () => {
  let steady = 0;
  const session = {
    historyRead: () => {
      steady += 4_000;
      const dataValues = [
        new DataValue({ value: new Variant({ dataType: 'Double', value: 1 }), sourceTimestamp: new Date(NOW - 1_000 - steady) }),
      ];
      return Promise.resolve({
        results: [{ statusCode: StatusCodes.Good, continuationPoint: Buffer.from('more'), historyData: new HistoryData({ dataValues }) }],
      });
    },
  } as unknown as ClientSession;
  const told = [];
  for await (const values of archived(minuteGap(session, () => steady))) told.push(...values);
  expect(told).toHaveLength(3);
  expect(steady).toBe(12_000);
});
