import { createServer, type IncomingHttpHeaders } from 'node:http';
import { afterEach, describe, expect, test } from 'vitest';
import { parseSite } from '../../gateway/config.ts';
import { testSend } from '../../gateway/test-send-command.ts';
import { readFileSync } from 'node:fs';
import { T0 } from './wire-examples.ts';

const open: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const close of open.splice(0)) await close();
});

async function receiver(status: number): Promise<{ url: string; heard: { headers: IncomingHttpHeaders; body: string }[] }> {
  const heard: { headers: IncomingHttpHeaders; body: string }[] = [];
  const server = createServer((request, response) => {
    let body = '';
    request.on('data', (piece: Buffer) => (body += piece.toString()));
    request.on('end', () => {
      heard.push({ headers: request.headers, body });
      response.writeHead(status).end();
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  open.push(() => new Promise((resolve) => server.close(resolve)));
  return { url: `http://127.0.0.1:${(server.address() as { port: number }).port}/secret-path`, heard };
}
const site = (url: string, allow = 'allowPrivate: true') =>
  parseSite(
    's.yaml',
    `${readFileSync('tests/configs/good-small.yaml', 'utf8')}\nalerts: { routes: [{ name: 'engineer on duty', type: webhook, url: '${url}', ${allow} }] }\n`,
  );
const send = (name: string, file: ReturnType<typeof site>) => testSend(name, file, T0, { secrets: [], timeoutMs: 2_000 });

describe('a route that is tried from the command line', () => {
  test('one message that says it is a test, and where it went without what may be secret', async () => {
    const { url, heard } = await receiver(204);
    const said = await send('engineer on duty', site(url));
    expect(said).toMatch(/^http:\/\/127\.0\.0\.1:\d+ took the message\./);
    expect(said).not.toContain('secret-path');
    expect(heard).toHaveLength(1);
    expect(JSON.parse(heard[0]?.body ?? '')).toMatchObject({ stage: 'test', alert: null, subject: expect.stringMatching(/^Test: /) });
  });

  test('what the receiver said when it did not take it', async () => {
    const { url } = await receiver(401);
    await expect(send('engineer on duty', site(url))).rejects.toThrow(
      /did not take the message\. The webhook answered 401\. Check the address/,
    );
  });

  test('a route that the file does not have is named with those it has', async () => {
    await expect(send('enginer', site('https://plant.invalid'))).rejects.toThrow(
      'There is no route "enginer": the site file has engineer on duty.',
    );
  });
});
