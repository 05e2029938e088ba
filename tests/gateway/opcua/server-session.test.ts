/** How a session is let go of, with doubles of the library's client and session. */
import { EventEmitter } from 'node:events';
import type { ClientSession, OPCUACertificateManager, OPCUAClient } from 'node-opcua';
import { UserTokenType } from 'node-opcua';
import { expect, test } from 'vitest';
import { Conditions } from '../../../gateway/opcua/conditions.ts';
import { ServerSession } from '../../../gateway/opcua/server-session.ts';

/** A session with a server without any tag of ours, and what was let go of in which order. */
async function opened(close: () => Promise<void>): Promise<{ session: ServerSession; ended: string[]; gone: Promise<void> }> {
  const ended: string[] = [];
  const gone = Promise.withResolvers<void>();
  const told = Object.assign(new EventEmitter(), {
    readNamespaceArray: () => Promise.resolve([]),
    read: () => Promise.resolve({ value: { value: 0 } }),
    close: () => (ended.push('session'), close()),
  });
  const client = Object.assign(new EventEmitter(), {
    isReconnecting: false,
    connect: () => Promise.resolve(),
    createSession: () => Promise.resolve(told as unknown as ClientSession),
    disconnect: () => (ended.push('client'), Promise.resolve()),
  });
  const certificates = { dispose: () => (ended.push('certificates'), gone.resolve(), Promise.resolve()) };
  const nothing = (): void => undefined;
  const session = new ServerSession({
    client: client as unknown as OPCUAClient,
    certificates: certificates as unknown as OPCUACertificateManager,
    endpoint: 'opc.tcp://127.0.0.1:1',
    identity: () => Promise.resolve({ type: UserTokenType.Anonymous }),
    nodes: [],
    conditions: new Conditions([], nothing),
    clock: { now: () => 0, steadyMs: () => 0, realNow: () => 0, speed: 1 },
    events: {
      ...{ values: nothing, gap: nothing, recreated: nothing, failed: nothing, opened: nothing },
      ...{ read: nothing, archived: nothing, badTags: nothing, trouble: nothing },
    } as unknown as ConstructorParameters<typeof ServerSession>[0]['events'],
    heardUntil: () => null,
  });
  await session.open();
  return { session, ended, gone: gone.promise };
}

test.each([
  ['is closed in order', () => Promise.resolve()],
  ['cannot be closed', () => Promise.reject(new Error('premature disconnection'))],
  ['never answers', () => new Promise<void>(() => undefined)],
])('the client is let go of when the session %s', async (_, close) => {
  const { session, ended, gone } = await opened(close);
  await session.close();
  await gone;
  expect(ended).toEqual(['session', 'client', 'certificates']);
});
