/** What stands in the way of a draft is said at once, not after the server was looked through. */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { createServer, type AddressInfo } from 'node:net';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { discoverAnswer } from '../../gateway/discover-command.ts';
import { newFolder } from './opcua/fixture-server.ts';

test('a file that is there already is named before the server is asked, and stays as it is', async () => {
  const folder = newFolder();
  const out = join(folder, 'plant.yaml');
  writeFileSync(out, 'mine');
  let asked = 0;
  const server = createServer((socket) => void (asked++, socket.destroy())).listen(0, '127.0.0.1');
  await new Promise((resolve) => server.once('listening', resolve));
  const endpoint = `opc.tcp://127.0.0.1:${(server.address() as AddressInfo).port}`;
  const command = { type: 'discover', endpoint, security: 'none', policy: 'Basic256Sha256', data: folder, out } as const;
  await expect(discoverAnswer(command)).rejects.toThrow(`${out} is there already. Choose another file with --out.`);
  expect(asked).toBe(0);
  expect([readFileSync(out, 'utf8'), existsSync(join(folder, 'pki'))]).toEqual(['mine', false]);
  server.close();
});
