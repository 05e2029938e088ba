/**
 * The part of the gateway that must not forget, as a process to be killed: the real store and the real pipeline, fed over a channel.
 * Says `<seq> <id>` on its output for every fact at the moment it is told to screens, and not before.
 */
import { writeSync } from 'node:fs';
import type { Clock } from '../../gateway/clock.ts';
import { siteCore } from '../../gateway/core.ts';
import { Pipeline } from '../../gateway/pipeline.ts';
import { openSqlite } from '../../gateway/store/sqlite.ts';
import { newDelivery } from '../../src/alert-plan.ts';
import { eventId } from '../../src/event.ts';
import type { Reading } from '../../src/reading.ts';
import { demoSite } from '../accuracy/plant-feed.ts';

export type Feeding = { readonly now: number; readonly readings: readonly Reading[] };

const folder = process.argv[2];
if (folder === undefined) throw new Error('victim.ts FOLDER');
let now = 0;
const clock: Clock = { now: () => now, steadyMs: () => performance.now(), speed: 1 };
const store = await openSqlite(folder);
const pipeline = new Pipeline({
  store,
  core: siteCore(demoSite()),
  planned: (alerts, at) =>
    alerts.map(({ id, state }) => newDelivery({ alert: id, route: 'hook', stage: state === 'open' ? 'opened' : 'closed', at })),
  clock,
  onCommitted: ({ stored }) => {
    // Written at once and by hand: what reached the pipe was told, whatever happens next.
    if (stored.length > 0) writeSync(1, stored.map((event) => `${event.seq} ${eventId(event)}\n`).join(''));
  },
  onOrdered: () => undefined,
  onFatal: (error) => {
    throw error;
  },
});
await pipeline.start();
process.on('message', (news: Feeding | 'end') => {
  if (news === 'end') {
    void pipeline.stop().then(() => store.close()).then(() => process.exit(0)); // prettier-ignore
    return;
  }
  now = news.now;
  pipeline.accept(news.readings);
  setTimeout(() => process.send?.('more'), 1);
});
process.send?.('more');
