/**
 * The link process: everything that touches foreign servers runs in here, apart from store and screens. Ends by itself when the gateway
 * is gone, and closes its sessions in order within two seconds.
 */
import { linkNeed, type LinkSite } from '../../src/link-need.ts';
import { tagTable } from '../../src/tag-map.ts';
import { notHere } from './acknowledge.ts';
import { ensureOwnCertificate, silenceLibrary } from './client.ts';
import { Handshakes } from './handshakes.ts';
import { Outbox } from './outbox.ts';
import { childClock } from './child-clock.ts';
import type { ChildClock } from './reception.ts';
import { ServerLink } from './server-link.ts';
import type { LinkNews, LinkOrder } from './wire.ts';

const CLOSE_MS = 1900;

type OpenOrder = Extract<LinkOrder, { type: 'open' }>;
type Kept = { readonly link: ServerLink; readonly need: string };
type Ground = { readonly pkiFolder: string; readonly clock: ChildClock; readonly outbox: Outbox; readonly handshakes: Handshakes };

/** By server. */
const links = new Map<string, Kept>();
let ground: Ground | null = null;
/** Orders are worked off one after another. */
let work: Promise<void> = Promise.resolve();
let closing = false;

function tell(news: LinkNews, done: () => void = () => {}): void {
  if (process.connected) process.send?.(news, undefined, undefined, done);
  else done();
}

async function open(order: OpenOrder): Promise<void> {
  const { site, pkiFolder, heardUntil } = order;
  const clock = childClock(order.clock);
  // Once before all: the first to open the store makes our key, certificate and folders.
  const own = await ensureOwnCertificate(pkiFolder);
  if (own !== null) tell({ type: 'own-certificate', certificate: { thumbprint: own.thumbprint, validTo: own.validTo } });
  const outbox = new Outbox((batch, done) => tell({ type: 'values', batch, receivedAt: clock.now() }, done));
  ground = { pkiFolder, clock, outbox, handshakes: new Handshakes() };
  outbox.start();
  begin(ground, site, heardUntil);
}

/** Links whose need is the same are not touched; the others end in order before what is read instead begins. */
async function change(site: LinkSite, heardUntil: OpenOrder['heardUntil']): Promise<void> {
  if (ground === null) return;
  const over = [...links].filter(([name, { need }]) => linkNeed(site, name) !== need);
  for (const [name] of over) links.delete(name);
  await Promise.all(over.map(([, { link }]) => link.stop()));
  const lastHeard = over.flatMap(([name, { link }]) => (link.lastHeardAt === null ? [] : [[name, link.lastHeardAt] as const]));
  if (!closing) begin(ground, site, { ...heardUntil, ...Object.fromEntries(lastHeard) });
}

/** Every server with chambers that is not read yet. */
function begin({ pkiFolder, clock, outbox, handshakes }: Ground, site: LinkSite, heardUntil: OpenOrder['heardUntil']): void {
  for (const server of site.servers) {
    const need = linkNeed(site, server.name);
    if (need === null || links.has(server.name)) continue;
    const link = new ServerLink({
      server,
      table: tagTable(site, server.name),
      clock,
      outbox,
      pkiFolder,
      handshakes,
      random: Math.random,
      heardUntil: heardUntil[server.name] ?? null,
      tell: (status) => tell({ type: 'status', status: { ...status, counters: { ...status.counters, dropped: outbox.dropped } } }),
    });
    links.set(server.name, { link, need });
    link.start();
  }
}

async function close(): Promise<void> {
  if (closing) return;
  closing = true;
  setTimeout(() => process.exit(0), CLOSE_MS);
  await Promise.all([...links.values()].map(({ link }) => link.stop()));
  ground?.outbox.stop();
  process.exit(0);
}

async function acknowledge({ id, request }: Extract<LinkOrder, { type: 'acknowledge' }>): Promise<void> {
  const link = links.get(request.server)?.link;
  const answer = (await link?.acknowledge(request)) ?? notHere(`${request.server} is not read, so nothing can be acknowledged there.`);
  tell({ type: 'acknowledged', id, answer });
}

function hear(order: LinkOrder): void {
  if (order.type === 'close') return void close();
  if (order.type === 'acknowledge') return void acknowledge(order);
  work = work.then(() => (order.type === 'open' ? open(order) : change(order.site, order.heardUntil)));
}

silenceLibrary();
process.on('message', hear);
process.on('disconnect', () => void close());
process.on('SIGTERM', () => void close());
// Ctrl-C reaches the whole process group; the gateway says when to close.
process.on('SIGINT', () => {});
