/**
 * The part of the gateway that must not forget, as a process to be killed: the real store, the real pipeline and the
 * real delivery, fed over a channel.
 * Says `<seq> <id>` on its output for every fact at the moment it is told to screens, and not before.
 */
import { writeSync } from 'node:fs';
import { openDelivery, type Delivering } from '../../gateway/alerts/deliver.ts';
import type { AlertRoute } from '../../gateway/alerts/route.ts';
import { TellBook } from '../../gateway/alerts/tell-book.ts';
import type { Clock } from '../../gateway/clock.ts';
import { siteCore } from '../../gateway/core.ts';
import { Pipeline } from '../../gateway/pipeline.ts';
import { openSqlite } from '../../gateway/store/sqlite.ts';
import type { TellPlan } from '../../src/alert-plan.ts';
import { eventId } from '../../src/event.ts';
import type { Reading } from '../../src/reading.ts';
import { FROM, TELL, victimSite } from './victim-site.ts';

export type Feeding = { readonly now: number; readonly readings: readonly Reading[] };

const [folder, webhook, smtp, start] = process.argv.slice(2);
if (folder === undefined || webhook === undefined || smtp === undefined || start === undefined)
  throw new Error('victim.ts FOLDER WEBHOOK SMTP NOW');
let now = Number(start);
const clock: Clock = { now: () => now, steadyMs: () => performance.now(), speed: 1 };
const fail = (error: unknown): void => {
  throw error;
};
const store = await openSqlite(folder);
const routes: readonly AlertRoute[] = [
  { name: 'hook', type: 'webhook', url: webhook, allowPrivate: true },
  { name: 'mail', type: 'mail', smtp, from: FROM, to: ['engineer@quellmoor.example'] },
  { name: 'boss', type: 'webhook', url: webhook, allowPrivate: true },
];
const tellOf = (): TellPlan => TELL;
let delivering: Delivering | null = null;
const wake = (): void => delivering?.wake();
const calendar = { zone: 'Europe/Berlin', shifts: [], holidays: [] };
const book = new TellBook({ store, setting: () => ({ tellOf, calendar }), clock, onPlanned: wake, onFatal: fail, lookMs: 20 });
const pipeline = new Pipeline({
  store,
  core: siteCore(victimSite()),
  planned: (alerts, at) => book.planned(alerts, at),
  clock,
  onCommitted: ({ stored, alerts }) => {
    // Written at once and by hand: what reached the pipe was told, whatever happens next.
    if (stored.length > 0) writeSync(1, stored.map((event) => `${event.seq} ${eventId(event)}\n`).join(''));
    if (alerts.length > 0) wake();
  },
  onOrdered: () => undefined,
  onFatal: fail,
});
await book.start();
await pipeline.start();
delivering = openDelivery({
  ...{ store, clock, onFatal: fail, random: () => 0, secrets: [], pollMs: 5, timeoutMs: 600 },
  setting: () => ({ routes, tellOf }),
  place: { site: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin', url: 'http://127.0.0.1:8080' },
  log: (words) => process.stderr.write(`${words}\n`),
});
process.on('message', (news: Feeding | 'end') => {
  if (news === 'end') {
    void Promise.all([book.stop(), delivering?.close()]).then(() => pipeline.stop()).then(() => store.close()).then(() => process.exit(0)); // prettier-ignore
    return;
  }
  now = news.now;
  pipeline.accept(news.readings);
  setTimeout(() => process.send?.('more'), 1);
});
process.send?.('more');
