import { createHmac } from 'node:crypto';
import { createServer, type IncomingHttpHeaders } from 'node:http';
import { afterEach, describe, expect, it } from 'vitest';
import { Heart, type Heartbeat, type HeartbeatParts } from '../../../gateway/alerts/heartbeat.ts';
import { T0 } from '../wire-examples.ts';

const opened: (() => unknown)[] = [];
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

type Beat = { headers: IncomingHttpHeaders; body: string };
async function watcher(status: () => number = () => 200): Promise<{ url: string; beats: Beat[] }> {
  const beats: Beat[] = [];
  const server = createServer((request, response) => {
    let body = '';
    request.on('data', (piece: Buffer) => (body += piece.toString()));
    request.on('end', () => {
      beats.push({ headers: request.headers, body });
      response.writeHead(status()).end();
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  opened.push(() => new Promise((resolve) => server.close(resolve)));
  return { url: `http://127.0.0.1:${(server.address() as { port: number }).port}/alive`, beats };
}

const MINUTE = 60_000;
function heart(setting: Partial<Heartbeat> & { url: string }, change: Partial<HeartbeatParts> = {}) {
  const steady = { ms: 0 };
  const lines: string[] = [];
  const made = new Heart({
    setting: () => ({ everyMin: 5, allowPrivate: true, ...setting }),
    faint: async () => null,
    about: () => ({ site: 'Quellmoor Works', hall: 'Hall 3', version: '1' }),
    clock: { now: () => T0, steadyMs: () => steady.ms, speed: 60 },
    log: (line) => lines.push(line),
    lookMs: 2,
    ...change,
  });
  made.start();
  opened.push(() => made.stop());
  return { steady, lines, state: () => made.state() };
}
async function until(claim: () => boolean): Promise<void> {
  while (!claim()) await new Promise((resolve) => setTimeout(resolve, 2));
}
const looks = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 30));

describe('the sign of life', () => {
  it('names the site as its file says at that moment', async () => {
    const { url, beats } = await watcher();
    let site = 'Quellmoor Works';
    const { steady } = heart({ url }, { about: () => ({ site, hall: 'Hall 3', version: '1' }) });
    await until(() => beats.length === 1);
    site = 'Quellmoor Mill';
    steady.ms = 5 * MINUTE;
    await until(() => beats.length === 2);
    expect(beats.map(({ body }) => (JSON.parse(body) as { site: string }).site)).toEqual(['Quellmoor Works', 'Quellmoor Mill']);
  });

  it('comes at once and then every so many minutes of real time, each under a name of its own, signed', async () => {
    const { url, beats } = await watcher();
    process.env['BEAT_SECRET'] = 'watch me';
    opened.push(() => delete process.env['BEAT_SECRET']);
    const { steady, state } = heart({ url, secrets: [{ env: 'BEAT_SECRET' }] });
    await until(() => beats.length === 1);
    steady.ms = 5 * MINUTE - 1;
    await looks();
    expect(beats).toHaveLength(1);
    steady.ms = 5 * MINUTE;
    await until(() => beats.length === 2);
    const [first, second] = beats as [Beat, Beat];
    expect(JSON.parse(first.body)).toEqual({
      site: 'Quellmoor Works',
      hall: 'Hall 3',
      version: '1',
      alive: true,
      at: new Date(T0).toISOString(),
    });
    expect(first.headers['idempotency-key']).not.toBe(second.headers['idempotency-key']);
    const { 'webhook-id': id, 'webhook-timestamp': at } = first.headers;
    expect(first.headers['webhook-signature']).toBe(
      `v1,${createHmac('sha256', 'watch me')
        .update(`${String(id)}.${String(at)}.${first.body}`)
        .digest('base64')}`,
    );
    await until(() => state()?.state === 'well');
    expect(state()).toMatchObject({ route: 'heartbeat', type: 'heartbeat', lastDeliveredAt: T0, lastError: null });
    expect(state()?.place).not.toContain('alive');
  });

  it('stays away while facts are not taken or not stored, and says why', async () => {
    const { url, beats } = await watcher();
    const weak: { why: string | null } = { why: 'Facts are not taken.' };
    const { steady, lines, state } = heart({ url }, { faint: async () => weak.why });
    await until(() => state()?.state === 'failing');
    expect(state()).toMatchObject({ failingSince: T0, lastError: 'Facts are not taken.' });
    steady.ms += 5 * MINUTE;
    await looks();
    expect([beats.length, lines]).toEqual([0, ['No sign of life was given to the watcher: Facts are not taken.']]);
    weak.why = null;
    steady.ms += 5 * MINUTE;
    await until(() => beats.length === 1 && state()?.state === 'well');
    expect(state()?.failingSince).toBeNull();
  });

  it('stays away when the store fails', async () => {
    const { url, beats } = await watcher();
    const { state } = heart({ url }, { faint: () => Promise.reject(new Error('disk gone')) });
    await until(() => state()?.state === 'failing');
    expect([beats.length, state()?.lastError]).toEqual([0, 'The store or the pipeline did not answer.']);
  });

  it('a watcher that refuses, or that stands inside the plant unasked, is seen', async () => {
    const refusing = await watcher(() => 500);
    const one = heart({ url: refusing.url });
    await until(() => one.state()?.lastError === 'The watcher answered 500.');
    const inside = await watcher();
    const two = heart({ url: inside.url, allowPrivate: false });
    await until(() => two.state()?.lastError?.includes('allowPrivate') === true);
    expect(inside.beats).toEqual([]);
  });
});
