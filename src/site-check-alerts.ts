/**
 * What the site file says of messages, held against its routes and shifts.
 * [SF1] Every route that a `tell` names exists, and every shift; what waits outside its shifts needs shifts to wait for.
 * [SF2] What repeats does so less often than it is put together.
 * [SF3] A receiver inside the plant's own network says that this is meant.
 */
import { GROUP_MIN } from './alert-tell.ts';
import type { SiteFile } from './config.ts';
import type { Tell } from './config-alerts.ts';

type AlertFault = { readonly path: readonly PropertyKey[]; readonly text: string };

export function alertFaults(site: SiteFile): AlertFault[] {
  const { alerts } = site;
  const rules = Object.entries(alerts.rules).flatMap(([kind, rule]) => tellFaults(site, ['alerts', 'rules', kind, 'tell'], rule.tell));
  return [...tellFaults(site, ['alerts', 'tell'], alerts.tell), ...rules, ...privateFaults(site)];
}

/** [SF1] */
function tellFaults(site: SiteFile, path: AlertFault['path'], tell: Tell): AlertFault[] {
  const routes = site.alerts.routes.map(({ name }) => name);
  const { calendar } = site;
  const shifts = [...new Set([calendar, ...calendar.changes].flatMap((one) => one.shifts.map(({ name }) => name)))];
  const names = (key: string, seen: readonly string[] | undefined, known: readonly string[]): AlertFault[] =>
    (seen ?? []).flatMap((name, i) => unknown([...path, ...key.split('.'), i], name, known));
  return [
    ...names('to', tell.to, routes),
    ...names('otherwise', tell.otherwise, routes),
    ...names('escalate.to', tell.escalate?.to, routes),
    ...(tell.shifts === 'always' ? [] : names('shifts', tell.shifts, shifts)),
    ...repeatFaults(path, tell, site.alerts.tell),
  ];
}

function unknown(path: AlertFault['path'], seen: string, known: readonly string[]): AlertFault[] {
  if (known.includes(seen)) return [];
  return [{ path, text: `saw "${seen}"; the file has ${known.length === 0 ? 'none' : known.join(', ')}` }];
}

/** [SF2] */
function repeatFaults(path: AlertFault['path'], { repeatMin, groupMin }: Tell, all: Tell): AlertFault[] {
  const together = groupMin ?? all.groupMin ?? GROUP_MIN;
  if (repeatMin === undefined || repeatMin === 'never' || repeatMin > together) return [];
  return [{ path: [...path, 'repeatMin'], text: `saw ${repeatMin}; it must be more than groupMin, which is ${together}` }];
}

/** RFC 1918, RFC 6890, RFC 4193: as far as the address itself shows it. Names are resolved when something is sent. */
const PRIVATE = /^https?:\/\/(localhost|127\.|10\.|192\.168\.|172\.(1[6-9]|2\d|3[01])\.|\[::1\]|\[f[cd])/i;

/** [SF3] */
function privateFaults({ alerts: { routes, heartbeat } }: SiteFile): AlertFault[] {
  const receivers = [
    ...routes.map((one, i) => ({ path: ['alerts', 'routes', i, 'url'], one: one.type === 'webhook' ? one : null })),
    { path: ['alerts', 'heartbeat', 'url'], one: heartbeat ?? null },
  ];
  return receivers
    .filter(({ one }) => one !== null && !one.allowPrivate && PRIVATE.test(one.url))
    .map(({ path }) => ({ path, text: "lies inside the plant's own network; if that is meant, set allowPrivate: true beside it" }));
}
