/**
 * A site file for a larger simulated hall, for measuring: the demo's own file with its servers and chambers replaced by the plant's.
 * Chambers beyond the demo's twelve repeat the templates in turn.
 */
import { readFile } from 'node:fs/promises';
import { parse, stringify } from 'yaml';
import { createPlant } from './plant.ts';

/** The templates of the demo file belong to bays in the plant's order of chambers. */
export type SiteChamber = { readonly id: string; readonly bay: string; readonly server: string };
type DemoChamber = { id: string; bay: string; template: string; path: string; server: string; floor: { column: number; row: number } };
type DemoServer = { name: string; endpoint: string };
type Group = { name: string; chambers: string[] };
type DemoSite = { chambers: DemoChamber[]; servers: DemoServer[]; utilities?: Group[]; alerts?: { positions?: Group[] } };

const COLUMNS = 20;

/** The site file that fits `serve` with the same chambers and base port. */
export async function siteOf(hall: { readonly chambers: number; readonly basePort: number }): Promise<string> {
  const demo = await readFile(new URL('quellmoor.yaml', import.meta.url), 'utf8');
  return siteText(demo, createPlant({ seed: 1, from: 0, chambers: hall.chambers }).chambers, hall.basePort);
}

export function siteText(demo: string, chambers: readonly SiteChamber[], basePort: number): string {
  const site = parse(demo) as DemoSite;
  const servers = [...new Set(chambers.map((chamber) => chamber.server))];
  const larger = chambers.length > site.chambers.length;
  const ids = new Set(chambers.map((chamber) => chamber.id));
  const known = (groups: readonly Group[] = []): Group[] =>
    groups
      .map((group) => ({ ...group, chambers: group.chambers.filter((id) => ids.has(id)) }))
      .filter((group) => group.chambers.length > 0);
  return stringify({
    ...site,
    utilities: known(site.utilities),
    alerts: { ...site.alerts, positions: known(site.alerts?.positions) },
    servers: servers.map((name, index) => ({
      ...serverLike(site.servers, name),
      name,
      endpoint: `opc.tcp://127.0.0.1:${basePort + index}`,
    })),
    chambers: chambers.map((chamber, index) => {
      const pattern = site.chambers[index % site.chambers.length] as DemoChamber;
      const floor = larger ? { column: 1 + (index % COLUMNS), row: 1 + Math.floor(index / COLUMNS) } : pattern.floor;
      return { ...pattern, id: chamber.id, path: chamber.id, bay: chamber.bay, server: chamber.server, floor };
    }),
  });
}

function serverLike(servers: readonly DemoServer[], name: string): Partial<DemoServer> {
  return servers.find((server) => server.name === name) ?? servers[0] ?? {};
}
