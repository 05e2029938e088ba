/**
 * Who may act: requests that change something, and every socket, come only from a page that this gateway itself served.
 * An Origin is compared whole and exactly, so `http://wall.example.evil.test` is not `http://wall.example`. The list does not come from
 * the Host header, because a page that rebinds its own name to this address controls that header too.
 * ASVS 5.0 V4.4.2 and V3.5: Origin check on the upgrade and on every mutating request.
 */
import { hostname, networkInterfaces } from 'node:os';

export type OwnAddress = {
  readonly host: string;
  readonly port: number;
  /** Where people open the page when a proxy or a name stands before it, such as https://glowfleet.quellmoor.example. */
  readonly publicUrl?: string | undefined;
  /** Further origins, whole: the dashboard's development server. */
  readonly origins?: readonly string[] | undefined;
};

const LOOPBACK = ['127.0.0.1', 'localhost', '[::1]'];
const EVERYWHERE = ['0.0.0.0', '::'];

/** Every origin under which this gateway serves its pages. */
export function ownOrigins(address: OwnAddress): ReadonlySet<string> {
  const plain = ownHosts(address.host)
    .map((host) => `http://${host}:${address.port}`)
    .filter((url) => URL.canParse(url))
    .map((url) => new URL(url).origin);
  const named = [address.publicUrl, ...(address.origins ?? [])].filter((url) => url !== undefined).map((url) => new URL(url).origin);
  return new Set([...plain, ...named]);
}

export function isOwnOrigin(origin: string | undefined, own: ReadonlySet<string>): boolean {
  return origin !== undefined && own.has(origin);
}

export const isLoopback = (address: string | undefined): boolean =>
  address !== undefined && (address === '::1' || /^(::ffff:)?127\.\d+\.\d+\.\d+$/.test(address));

function ownHosts(host: string): readonly string[] {
  if (EVERYWHERE.includes(host)) return [...LOOPBACK, hostname(), ...interfaceHosts()];
  if (isLoopback(host) || host === 'localhost') return LOOPBACK;
  return [host.includes(':') ? `[${host}]` : host];
}

function interfaceHosts(): readonly string[] {
  const addresses = Object.values(networkInterfaces()).flatMap((list) => list ?? []);
  return addresses.filter((a) => !a.address.startsWith('fe80')).map((a) => (a.family === 'IPv6' ? `[${a.address}]` : a.address));
}
