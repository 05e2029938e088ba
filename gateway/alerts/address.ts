/**
 * Where a webhook may go. A site file, or whoever answers for a name, must not turn the gateway into a window on the plant network (ASVS 5.0
 * V1.3.6): the name is resolved once, every address it has is judged, and the request goes to those very addresses, whatever the name
 * says a moment later. Loopback and private ranges only where the route allows them; link-local (where clouds keep their keys), multicast
 * and unspecified addresses never. Ranges: IANA special-purpose address registries (RFC 6890 and its updates).
 */
import { lookup } from 'node:dns/promises';
import { BlockList, isIP } from 'node:net';

export type Address = { readonly address: string; readonly family: 4 | 6 };
export type Resolve = (host: string) => Promise<readonly Address[]>;
/** Whether the sentence may be otherwise in a minute: a name server that is down comes back, a private address stays one. */
export type Refusal = { readonly sentence: string; readonly mayPass: boolean };
export type Allowed = { readonly addresses: readonly Address[] } | { readonly refusal: Refusal };

const systemResolve: Resolve = async (host) =>
  (await lookup(host, { all: true })).map(({ address, family }) => ({ address, family: family === 6 ? 6 : 4 }));

export async function allowedAddresses(host: string, allowPrivate: boolean, resolve: Resolve = systemResolve): Promise<Allowed> {
  const bare = host.replace(/^\[|\]$/g, '');
  const literal = isIP(bare);
  try {
    const addresses: readonly Address[] = literal === 0 ? await resolve(bare) : [{ address: bare, family: literal === 6 ? 6 : 4 }];
    if (addresses.length === 0) return { refusal: { sentence: `The name ${host} has no address.`, mayPass: true } };
    const wrong = addresses.map((one) => faultOf(one, allowPrivate)).find((fault) => fault !== null);
    return wrong === undefined ? { addresses } : { refusal: { sentence: wrong, mayPass: false } };
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code ?? 'no answer';
    return { refusal: { sentence: `The name ${host} could not be resolved (${code}).`, mayPass: true } };
  }
}

/** Null where a request may go there. */
function faultOf({ address, family }: Address, allowPrivate: boolean): string | null {
  const type = family === 6 ? 'ipv6' : 'ipv4';
  if (NEVER.check(address, type)) return `${address} is no address of a receiver (link-local, multicast or unspecified).`;
  if (allowPrivate || !INSIDE.check(address, type)) return null;
  return `${address} lies inside the plant's own network. If that is meant, set allowPrivate: true at this route.`;
}

const NEVER = ranges(
  ['0.0.0.0/8', '169.254.0.0/16', '224.0.0.0/4', '240.0.0.0/4'],
  ['::/128', 'fe80::/10', 'fec0::/10', 'ff00::/8', '64:ff9b:1::/48', '100::/64'],
);
const INSIDE = ranges(
  [
    ...['10.0.0.0/8', '100.64.0.0/10', '127.0.0.0/8', '172.16.0.0/12', '192.168.0.0/16'],
    ...['192.0.0.0/24', '192.0.2.0/24', '198.18.0.0/15', '198.51.100.0/24', '203.0.113.0/24'],
  ],
  // IPv4 inside IPv6 (mapped is judged as IPv4 by BlockList itself): compatible, NAT64, 6to4 and Teredo reach whatever they carry.
  ['::1/128', 'fc00::/7', '::/96', '64:ff9b::/96', '2002::/16', '2001::/32', '2001:db8::/32'],
);

function ranges(ipv4: readonly string[], ipv6: readonly string[]): BlockList {
  const list = new BlockList();
  const add = (range: string, type: 'ipv4' | 'ipv6'): void => {
    const [net = '', bits = ''] = range.split('/');
    list.addSubnet(net, Number(bits), type);
  };
  ipv4.forEach((range) => add(range, 'ipv4'));
  ipv6.forEach((range) => add(range, 'ipv6'));
  return list;
}
