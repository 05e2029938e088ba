import { createServer } from 'node:http';
import { afterEach, describe, expect, it } from 'vitest';
import { allowedAddresses, type Address, type Resolve } from '../../../gateway/alerts/address.ts';
import { post } from '../../../gateway/alerts/http-post.ts';

const at =
  (...addresses: string[]): Resolve =>
  async () =>
    addresses.map((address): Address => ({ address, family: address.includes(':') ? 6 : 4 }));
const sentence = async (host: string, allowPrivate = false, resolve: Resolve = at(host)): Promise<string | null> => {
  const allowed = await allowedAddresses(host, allowPrivate, resolve);
  return 'refusal' in allowed ? allowed.refusal.sentence : null;
};

// IANA IPv4 and IPv6 special-purpose address registries (RFC 6890), RFC 1918, RFC 4193, RFC 6598.
const INSIDE = [
  ...[
    '127.0.0.1',
    '127.255.255.254',
    '10.0.0.1',
    '10.255.255.255',
    '172.16.0.1',
    '172.31.255.255',
    '192.168.0.1',
    '100.64.0.1',
    '198.18.0.1',
  ],
  ...[
    '[::1]',
    '[fc00::1]',
    '[fd12:3456::1]',
    '[::ffff:127.0.0.1]',
    '[::ffff:10.0.0.1]',
    '[64:ff9b::a00:1]',
    '[2002:a00:1::]',
    '[::7f00:1]',
  ],
];
const NEVER = [
  '0.0.0.0',
  '169.254.169.254',
  '224.0.0.1',
  '255.255.255.255',
  '[::]',
  '[fe80::1]',
  '[ff02::1]',
  '[::ffff:169.254.169.254]',
  '[::ffff:0.0.0.0]',
];
const OUTSIDE = ['93.184.216.34', '172.32.0.1', '172.15.255.255', '11.0.0.1', '100.128.0.1', '[2606:4700::1111]', '[::ffff:93.184.216.34]'];

describe('where a webhook may go', () => {
  it.each(INSIDE)('%s lies inside, and only a route that says so may go there', async (host) => {
    expect(await sentence(host)).toMatch(/inside the plant's own network.*allowPrivate: true/);
    expect(await sentence(host, true)).toBeNull();
  });

  it.each(NEVER)('%s is no receiver, whatever the route says', async (host) => {
    expect(await sentence(host, true)).toMatch(/no address of a receiver/);
  });

  it.each(OUTSIDE)('%s lies outside', async (host) => expect(await sentence(host)).toBeNull());

  // WHATWG URL: every way to write an IPv4 address is the same host before anybody looks.
  it.each(['http://2130706433/', 'http://0x7f.1/', 'http://0177.0.0.1/', 'http://127.1/', 'http://localhost./', 'http://[::ffff:7f00:1]/'])(
    '%s is loopback',
    async (url) => {
      const { hostname } = new URL(url);
      expect(await sentence(hostname, false, at('127.0.0.1'))).toMatch(/inside the plant's own network/);
    },
  );

  it('a name is judged by every address it has', async () => {
    expect(await sentence('two.example', false, at('93.184.216.34', '10.0.0.1'))).toMatch(/^10\.0\.0\.1 lies inside/);
    expect(await sentence('two.example', false, at('93.184.216.34', '2606:4700::1111'))).toBeNull();
  });

  it('a name server that does not answer may answer later; a private address stays one', async () => {
    const down: Resolve = () => Promise.reject(Object.assign(new Error('x'), { code: 'EAI_AGAIN' }));
    expect(await allowedAddresses('a.example', false, down)).toEqual({
      refusal: { sentence: 'The name a.example could not be resolved (EAI_AGAIN).', mayPass: true },
    });
    expect(await allowedAddresses('a.example', false, at())).toMatchObject({ refusal: { mayPass: true } });
    expect(await allowedAddresses('a.example', false, at('10.0.0.1'))).toMatchObject({ refusal: { mayPass: false } });
  });
});

describe('a name that changes its mind', () => {
  const open: (() => Promise<unknown>)[] = [];
  afterEach(async () => {
    for (const close of open.splice(0)) await close();
  });
  const inside = async (): Promise<{ port: number; hosts: string[] }> => {
    const hosts: string[] = [];
    const server = createServer((request, response) => {
      hosts.push(request.headers.host ?? '');
      response.end();
    });
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    open.push(() => new Promise((resolve) => server.close(resolve)));
    return { port: (server.address() as { port: number }).port, hosts };
  };
  const posted = (port: number, resolve: Resolve, allowPrivate = false) =>
    post({ url: `http://rebind.example:${port}/`, allowPrivate, resolve, headers: {}, body: 'x', timeoutMs: 500, whom: 'webhook' });

  it('is asked once: the request goes to the address that was judged, under the name', async () => {
    const { port, hosts } = await inside();
    let asked = 0;
    const once: Resolve = async () => ((asked += 1), [{ address: '127.0.0.1', family: 4 }]);
    expect(await posted(port, once, true)).toEqual({ type: 'delivered' });
    expect([asked, hosts]).toEqual([1, [`rebind.example:${port}`]]);
  });

  it('that nobody ever resolves holds up nothing for longer than a receiver may', async () => {
    const never: Resolve = () => new Promise(() => {});
    expect(await posted(80, never)).toEqual({
      type: 'failed',
      reason: 'The name rebind.example was not resolved within 0.5 s.',
      afterMs: null,
    });
  });

  it('cannot lead inside: first it says outside, then inside, and nothing arrives', async () => {
    const { port, hosts } = await inside();
    let asked = 0;
    // TEST-NET-2 of another kind: routable by its range, nobody there.
    const rebinding: Resolve = async () => [{ address: asked++ === 0 ? '192.88.99.1' : '127.0.0.1', family: 4 }];
    expect((await posted(port, rebinding)).type).toBe('failed');
    expect((await posted(port, rebinding)).type).toBe('refused');
    expect(hosts).toEqual([]);
  });
});
