/** Who may connect when, of many servers that are on and off. */
import { once } from 'node:events';
import { createServer, type AddressInfo, type Socket } from 'node:net';
import { afterEach, expect, test } from 'vitest';
import { systemClock } from '../../../gateway/clock.ts';
import { Handshakes } from '../../../gateway/opcua/handshakes.ts';
import { openLink } from '../../../gateway/opcua/link.ts';
import { newFolder, nodeText, startFixture } from './fixture-server.ts';
import { Heard, siteWith } from './heard.ts';

const HOUR_MS = 3_600_000;
const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

test('five that answer are connected at a time, and each in turn', async () => {
  const handshakes = new Handshakes(HOUR_MS);
  let [now, most] = [0, 0];
  const done: number[] = [];
  const one = async (i: number): Promise<void> => {
    most = Math.max(most, ++now);
    await new Promise(setImmediate);
    now--;
    done.push(i);
    if (i % 3 === 0) throw new Error('refused');
  };
  await Promise.allSettled(Array.from({ length: 23 }, (_, i) => handshakes.run(() => one(i))));
  expect(most).toBe(5);
  expect(done).toEqual(Array.from({ length: 23 }, (_, i) => i));
});

test('one that waits for an answer gives its place back once', async () => {
  const handshakes = new Handshakes(5);
  const stuck = Array.from({ length: 5 }, () => Promise.withResolvers<void>());
  const waiting = stuck.map(({ promise }) => handshakes.run(() => promise));
  expect(await handshakes.run(() => Promise.resolve('the sixth'))).toBe('the sixth');
  for (const { resolve } of stuck) resolve();
  await Promise.all(waiting);
  let [now, most] = [0, 0];
  const one = async (): Promise<void> => {
    most = Math.max(most, ++now);
    await new Promise(setImmediate);
    now--;
  };
  await Promise.all(Array.from({ length: 20 }, () => handshakes.run(one)));
  expect(most).toBe(5);
});

test('thirty servers that take a connection and say nothing do not hold up the one that answers', { timeout: 60_000 }, async () => {
  const sockets = new Set<Socket>();
  const mute = createServer((socket) => void sockets.add(socket.on('error', () => undefined)));
  mute.listen(0, '127.0.0.1');
  await once(mute, 'listening');
  undo.push(() => (sockets.forEach((socket) => socket.destroy()), mute.close()));
  const server = await startFixture({ tags: [{ path: 'A1/Pressure', type: 'Double', value: 100 }] });
  undo.push(() => server.close());
  const site = siteWith(server.port, { tags: { 'chamber.pressure': { node: nodeText('{path}/Pressure'), unit: 'Pa' } } });
  const [last, chamber] = [site.servers[0]!, site.chambers[0]!];
  const off = Array.from({ length: 30 }, (_, i) => `off-${i}`);
  const endpoint = `opc.tcp://127.0.0.1:${(mute.address() as AddressInfo).port}`;
  const heard = new Heard();
  const link = openLink({
    site: {
      ...site,
      servers: [...off.map((name) => ({ ...last, name, endpoint })), last],
      chambers: [...off.map((name) => ({ ...chamber, id: name, server: name })), ...site.chambers],
    },
    clock: systemClock(),
    pkiFolder: newFolder(),
    events: heard.events,
  });
  await link.start();
  undo.push(() => link.stop());
  await heard.until('the one that answers', () => heard.last('chamber.pressure')?.value === 100, 25_000);
});
