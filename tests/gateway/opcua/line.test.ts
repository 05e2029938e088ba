import { queryObjects } from 'node:v8';
import { AttributeIds, MessageSecurityMode, OPCUAClient, SecurityPolicy, TimestampsToReturn } from 'node-opcua';
import type { ClientSession } from 'node-opcua';
import { expect, test } from 'vitest';
import { Line, type LineEvents } from '../../../gateway/opcua/line.ts';
import { startFixture } from './fixture-server.ts';

const events: LineEvents = { values: () => {}, gap: () => {}, recreated: () => {}, stuck: () => {}, spoilt: () => {}, failed: () => {} };

/** The library tells its class only by an object of it. */
async function groupClass(session: ClientSession): Promise<new () => object> {
  const subscription = await session.createSubscription2({ publishingEnabled: false });
  const group = await subscription.monitorItems([{ nodeId: 'i=2258', attributeId: AttributeIds.Value }], {}, TimestampsToReturn.Both);
  return group.constructor as new () => object;
}

test('a tag that is refused again and again leaves nothing behind', async () => {
  const server = await startFixture({ tags: [{ path: 'A1/Pressure', type: 'Double', value: 100 }] });
  const client = OPCUAClient.create({
    securityMode: MessageSecurityMode.None,
    securityPolicy: SecurityPolicy.None,
    endpointMustExist: false,
  });
  try {
    await client.connect(`opc.tcp://127.0.0.1:${server.port}`);
    const session = await client.createSession();
    const line = new Line('fast', 1, events);
    await line.open(session);
    await line.addTags(
      [
        { tag: 0, nodeId: 'ns=2;s=A1/Pressure' },
        { tag: 1, nodeId: 'ns=2;s=A1/Nowhere' },
      ],
      100,
    );
    for (let minute = 0; minute < 20; minute++) {
      line.forget(1);
      await line.addTags([{ tag: 1, nodeId: 'ns=2;s=A1/Nowhere' }], 100);
    }
    expect(line.faults()).toEqual([{ tag: 1, reason: 'BadNodeIdUnknown' }]);
    expect(queryObjects(await groupClass(session), { format: 'count' })).toBeLessThanOrEqual(2);
  } finally {
    await client.disconnect();
    await server.close();
  }
});
