/**
 * The link process: everything that touches foreign servers runs in here, apart from store and screens. Ends by itself when the gateway
 * is gone, and closes its sessions in order within two seconds.
 */
import { tagTable } from '../../src/tag-map.ts';
import { ensureOwnCertificate, Handshakes, silenceLibrary } from './client.ts';
import { Outbox } from './outbox.ts';
import type { ChildClock } from './reception.ts';
import { ServerLink } from './server-link.ts';
import type { ClockSetting, LinkNews, LinkOrder } from './wire.ts';

const CLOSE_MS = 1900;

let links: ServerLink[] = [];
let outbox: Outbox | null = null;
let closing = false;

function tell(news: LinkNews, done: () => void = () => {}): void {
  if (process.connected) process.send?.(news, undefined, undefined, done);
  else done();
}

function childClock({ realMs, plantMs, speed }: ClockSetting): ChildClock {
  return { now: () => plantMs + (Date.now() - realMs) * speed, steadyMs: () => performance.now(), realNow: () => Date.now(), speed };
}

async function open(order: Extract<LinkOrder, { type: 'open' }>): Promise<void> {
  const { site, pkiFolder } = order;
  const clock = childClock(order.clock);
  // Once before all: the first to open the store makes our key, certificate and folders.
  const own = await ensureOwnCertificate(pkiFolder);
  if (own !== null) tell({ type: 'own-certificate', certificate: { thumbprint: own.thumbprint, validTo: own.validTo } });
  const handshakes = new Handshakes();
  const box = new Outbox((batch, done) => tell({ type: 'values', batch, receivedAt: clock.now() }, done));
  outbox = box;
  box.start();
  const used = site.servers.filter(({ name }) => site.chambers.some(({ server }) => server === name));
  links = used.map(
    (server) =>
      new ServerLink({
        server,
        table: tagTable(site, server.name),
        clock,
        outbox: box,
        pkiFolder,
        handshakes,
        random: Math.random,
        heardUntil: order.heardUntil[server.name] ?? null,
        tell: (status) => tell({ type: 'status', status: { ...status, counters: { ...status.counters, dropped: box.dropped } } }),
      }),
  );
  for (const link of links) link.start();
}

async function close(): Promise<void> {
  if (closing) return;
  closing = true;
  setTimeout(() => process.exit(0), CLOSE_MS);
  await Promise.all(links.map((link) => link.stop()));
  outbox?.stop();
  process.exit(0);
}

silenceLibrary();
process.on('message', (order: LinkOrder) => void (order.type === 'open' ? open(order) : close()));
process.on('disconnect', () => void close());
process.on('SIGTERM', () => void close());
// Ctrl-C reaches the whole process group; the gateway says when to close.
process.on('SIGINT', () => {});
