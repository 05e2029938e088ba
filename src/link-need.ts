/**
 * What the link to a server rests on, and which links another site file leaves as they are.
 * [LK1] A link needs its server's own entry and, of each chamber behind it, the path, the tags, the gas lines (by which flows are turned into SI) and
 *       where alarms come from. Words, priorities, places, shifts and all else change without touching it.
 * [LK2] A server without chambers has no link.
 * [LK3] A link whose need is the same is kept; another need renews it; of the rest one begins and one ends.
 */
import { canonical } from './canonical.ts';
import type { SiteFile } from './config.ts';
import { templateOf } from './tag-map.ts';

/** No alert routes, no people: the process that talks to foreign servers knows only what it must. */
export type LinkSite = Pick<SiteFile, 'servers' | 'templates' | 'chambers'>;
export type LinkChange = {
  readonly kept: readonly string[];
  readonly renewed: readonly string[];
  readonly begun: readonly string[];
  readonly ended: readonly string[];
};

/** [LK1] One text per need; [LK2] null for a server without chambers, or one that is not there. */
export function linkNeed(site: LinkSite, name: string): string | null {
  const server = site.servers.find((each) => each.name === name);
  const chambers = site.chambers.filter((chamber) => chamber.server === name);
  if (server === undefined || chambers.length === 0) return null;
  return canonical({ server, chambers: chambers.map((chamber) => chamberNeed(site, chamber)) });
}

function chamberNeed(site: LinkSite, chamber: LinkSite['chambers'][number]): unknown {
  const { tags, gases, alarms, conditions } = templateOf(site, chamber);
  const { id, path, tags: own } = chamber;
  const sources = Object.fromEntries(Object.entries(alarms).map(([code, { from }]) => [code, from]));
  return { id, path, tags: { ...tags, ...own }, gases, sources, conditions };
}

/** [LK3] */
export function linkChange(before: LinkSite, after: LinkSite): LinkChange {
  const names = [...new Set([...before.servers, ...after.servers].map(({ name }) => name))];
  const needs = names.map((name) => ({ name, was: linkNeed(before, name), is: linkNeed(after, name) }));
  const those = (fits: (need: (typeof needs)[number]) => boolean): string[] => needs.filter(fits).map(({ name }) => name);
  return {
    kept: those(({ was, is }) => was !== null && was === is),
    renewed: those(({ was, is }) => was !== null && is !== null && was !== is),
    begun: those(({ was, is }) => was === null && is !== null),
    ended: those(({ was, is }) => was !== null && is === null),
  };
}
