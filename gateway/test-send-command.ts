/** One message by a route of a site file, sent at once and from here: before a gateway runs, or to see what the receiver says. */
import type { SiteFile } from '../src/config.ts';
import { Fault } from '../src/fault.ts';
import { newTest } from './alerts/resend.ts';
import { placeOf, sendByRoute, type SendParts } from './alerts/route.ts';

export type TestSendCommand = { readonly type: 'test-send'; readonly route: string; readonly site: string };

/** What the receiver said, in a sentence; fails with it where it did not take the message. */
export async function testSend(name: string, { site, alerts }: SiteFile, now: number, parts: SendParts): Promise<string> {
  const route = alerts.routes.find((one) => one.name === name);
  const known = alerts.routes.map((one) => one.name).join(', ');
  if (route === undefined) throw new Fault('not-found', `There is no route "${name}": the site file has ${known === '' ? 'none' : known}.`);
  const place = { site: site.name, hall: site.hall, zone: site.zone, url: '' };
  const outcome = await sendByRoute(route, { delivery: newTest(name, now), alerts: [], place, now }, parts);
  if (outcome.type === 'delivered') return `${placeOf(route)} took the message. Look whether it arrived where people read it.`;
  throw new Fault('unavailable', `${placeOf(route)} did not take the message. ${outcome.reason}`);
}
