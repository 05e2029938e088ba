/**
 * The site as the answering half of the gateway sees it: chambers in their order with rules, place and mapped signals, and the calendar.
 */
import type { Position } from '../src/alarm-targets.ts';
import type { Span } from '../src/calendar.ts';
import type { ChamberRules } from '../src/chamber-rules.ts';
import type { SiteFile } from '../src/config.ts';
import type { Counted } from '../src/counters.ts';
import type { WorkedOn } from '../src/equipment.ts';
import { Fault } from '../src/fault.ts';
import { isSignalName, type SignalName } from '../src/signal.ts';
import { DEFAULT_REASONS, type Reason } from '../src/reason-list.ts';
import { firstMembers, membersDuring, type Member } from '../src/site-members.ts';
import { chamberRules } from '../src/site-rules.ts';
import { templateOf } from '../src/tag-map.ts';
import type { WindowRules } from '../src/window.ts';
import { HOUR_MS, MINUTE_MS } from '../src/zone.ts';

/** What is to be looked after, and after how much of what: hours in ms, or runs. */
export type MaintenanceInterval = {
  readonly name: string;
  readonly part: WorkedOn;
  readonly counted: Counted;
  readonly every: number;
  /** Null: every chamber. */
  readonly chambers: readonly string[] | null;
};

export type PlantChamber = {
  readonly id: string;
  readonly server: string;
  readonly rules: ChamberRules;
  readonly place: { readonly name: string; readonly bay: string; readonly floor: { readonly column: number; readonly row: number } };
  readonly signals: readonly SignalName[];
  /** Codes of alarms that persons may acknowledge at the chamber from here. */
  readonly acknowledges: ReadonlySet<string>;
};

export type Plant = {
  readonly site: { readonly name: string; readonly hall: string; readonly zone: string };
  readonly units: { readonly pressure: string; readonly flow: string };
  /** With what is an assist. */
  readonly calendar: WindowRules;
  readonly reasons: readonly Reason[];
  readonly maintenance: readonly MaintenanceInterval[];
  readonly chambers: readonly PlantChamber[];
  readonly ids: readonly string[];
  /** The chambers that one person watches; none named: one position watches all. */
  readonly positions: readonly Position[];
  /** A chamber of the site, or one that was of it: its history can still be read. `not-found` for one it never had. */
  readonly chamber: (id: string) => PlantChamber;
  /** The chambers that belonged to the site at any time of the window. */
  readonly during: (window: Span) => readonly string[];
};

/** A plant that is at any moment what was set last: whoever holds it and reads it when asked follows the site file. */
export function presentPlant(first: Plant): { readonly plant: Plant; set(next: Plant): void } {
  let now = first;
  const fields = Object.keys(first).map((key) => [key, { enumerable: true, get: () => now[key as keyof Plant] }] as const);
  return { plant: Object.defineProperties({}, Object.fromEntries(fields)) as Plant, set: (next) => (now = next) };
}

export function plantOf(file: SiteFile, members: readonly Member[] = firstMembers(file)): Plant {
  const chambers = file.chambers.map((chamber) => plantChamber(file, chamber));
  const former = members.flatMap(({ last }) => (last === null ? [] : [formerChamber(file, last)]));
  const byId = new Map([...former, ...chambers].map((chamber) => [chamber.id, chamber]));
  const { name, hall, zone, units } = file.site;
  return {
    site: { name, hall, zone },
    units,
    calendar: { zone, ...file.calendar, assistLimitMs: file.equipmentTime.assistLimitMin * MINUTE_MS },
    reasons: file.reasons ?? DEFAULT_REASONS,
    maintenance: file.maintenance.map(intervalOf),
    chambers,
    ids: chambers.map((chamber) => chamber.id),
    positions: file.alerts.positions,
    chamber: (id) => {
      const chamber = byId.get(id);
      if (chamber === undefined) throw new Fault('not-found', 'The site has no chamber of that name. /api/chambers lists them.');
      return chamber;
    },
    during: (window) => membersDuring(members, window),
  };
}

/** By the last word of the site file on it. */
function formerChamber(file: SiteFile, { chamber, template }: NonNullable<Member['last']>): PlantChamber {
  return plantChamber({ ...file, chambers: [chamber], templates: { [chamber.template]: template } }, chamber);
}

const intervalOf = ({ name, part, counts, every, chambers }: SiteFile['maintenance'][number]): MaintenanceInterval => ({
  ...{ name, part, counted: counts, chambers: chambers ?? null },
  every: counts === 'runs' ? every : every * HOUR_MS,
});

function plantChamber(file: SiteFile, chamber: SiteFile['chambers'][number]): PlantChamber {
  const { tags: usual, alarms } = templateOf(file, chamber);
  const tags = { ...usual, ...chamber.tags };
  const isAllowed = file.servers.some(({ name, acknowledge }) => name === chamber.server && acknowledge === true);
  const conditions = Object.entries(alarms).flatMap(([code, { from }]) => ('condition' in from ? [code] : []));
  return {
    id: chamber.id,
    server: chamber.server,
    rules: chamberRules(file, chamber.id),
    place: { name: chamber.name ?? chamber.id, bay: chamber.bay, floor: chamber.floor },
    signals: Object.keys(tags).filter((signal): signal is SignalName => isSignalName(signal) && Boolean(tags[signal])),
    acknowledges: new Set(isAllowed ? conditions : []),
  };
}
