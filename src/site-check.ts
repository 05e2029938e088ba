/**
 * What one part of a site file says about another. The shape is checked before (config.ts); these are the sentences about sense.
 * [SC1] Every name that a chamber uses (server, template) exists.
 * [SC2] No two servers, chambers, positions, utilities or routes share a name, and no two chambers share a spot on the floor.
 * [SC3] Every chamber of an operator position exists, and none is in two positions.
 * [SC4] An alarm taken from a condition needs the notifier, and no two alarms of a template come from the same node, bit or condition.
 * [SC5] A tag's unit measures what its signal is, and percent of full scale is only for the flow of a gas line that is declared.
 * [SC6] No two chambers have the same path on the same server: they would be one chamber counted twice.
 * [SC7] No two reasons share state and words, and only downtime has a kind of downtime.
 * [SC8] Changes of the calendar stand in order of their dates, no day is a holiday twice, and a shift of one name starts once a day.
 * [SC9] The summary of a week goes by mail routes that exist, by each once.
 * [SC10] Every chamber of a maintenance interval exists, and no chamber has two of one name.
 * [SC11] Every chamber of a utility exists, and is named once.
 * [SC12] No chamber bears a name under which the gateway keeps a state of its own: one would be read as the other.
 * [SC13] A bit is for yes-or-no signals only, and takes no words.
 * [SC14] What a number counts is said of recipe.step only.
 */
import { alertFaults } from './site-check-alerts.ts';
import type { SiteFile, TagBinding, TagUnit } from './config.ts';
import { KEPT } from './kept-name.ts';
import { SIGNALS, type SignalName, type SiUnit } from './signal.ts';

export type SiteFault = { readonly path: readonly PropertyKey[]; readonly text: string };

export function siteFaults(site: SiteFile): SiteFault[] {
  return [
    ...references(site),
    ...repeats(site),
    ...keptNames(site),
    ...positionFaults(site),
    ...Object.entries(site.templates).flatMap(([name, template]) => [
      ...alarmFaults(name, template),
      ...tagFaults(['templates', name, 'tags'], template.tags, template),
    ]),
    ...summaryFaults(site),
    ...site.chambers.flatMap((chamber, i) => tagFaults(['chambers', i, 'tags'], chamber.tags ?? {}, site.templates[chamber.template])),
    ...pathFaults(site),
    ...reasonFaults(site),
    ...calendarFaults(site),
    ...maintenanceFaults(site),
    ...utilityFaults(site),
    ...alertFaults(site),
  ];
}

/** [SC1] */
function references(site: SiteFile): SiteFault[] {
  const servers = site.servers.map((server) => server.name);
  const templates = Object.keys(site.templates);
  return site.chambers.flatMap((chamber, i) => [
    ...unknownName(['chambers', i, 'server'], chamber.server, servers),
    ...unknownName(['chambers', i, 'template'], chamber.template, templates),
  ]);
}

function unknownName(path: SiteFault['path'], seen: string, known: readonly string[]): SiteFault[] {
  return known.includes(seen) ? [] : [{ path, text: `saw "${seen}"; the file has ${known.join(', ')}` }];
}

/** [SC12] */
function keptNames({ chambers }: SiteFile): SiteFault[] {
  const kept: readonly string[] = Object.values(KEPT);
  return chambers.flatMap(({ id }, i) =>
    kept.includes(id) ? [{ path: ['chambers', i, 'id'], text: `saw "${id}"; the gateway keeps ${kept.join(', ')} for itself` }] : [],
  );
}

/** [SC2] */
function repeats(site: SiteFile): SiteFault[] {
  const spot = ({ column, row }: { column: number; row: number }): string => `column ${column}, row ${row}`;
  return [
    ...repeated(
      site.servers.map((s) => s.name),
      (i) => ['servers', i, 'name'],
    ),
    ...repeated(
      site.chambers.map((c) => c.id),
      (i) => ['chambers', i, 'id'],
    ),
    ...repeated(
      site.chambers.map((c) => spot(c.floor)),
      (i) => ['chambers', i, 'floor'],
    ),
    ...repeated(
      site.alerts.positions.map((p) => p.name),
      (i) => ['alerts', 'positions', i, 'name'],
    ),
    ...repeated(
      site.utilities.map((u) => u.name),
      (i) => ['utilities', i, 'name'],
    ),
    ...repeated(
      site.alerts.routes.map((r) => r.name),
      (i) => ['alerts', 'routes', i, 'name'],
    ),
  ];
}

function repeated(names: readonly string[], path: (i: number) => SiteFault['path']): SiteFault[] {
  return names.flatMap((name, i) => {
    const first = names.indexOf(name);
    return first === i ? [] : [{ path: path(i), text: `"${name}" is taken already by entry ${first}; each needs its own` }];
  });
}

/** [SC3] */
function positionFaults(site: SiteFile): SiteFault[] {
  const ids = site.chambers.map((chamber) => chamber.id);
  const placed = new Map<string, string>();
  return site.alerts.positions.flatMap((position, p) =>
    position.chambers.flatMap((chamber, c) => {
      const path = ['alerts', 'positions', p, 'chambers', c];
      if (!ids.includes(chamber)) return unknownName(path, chamber, ids);
      const other = placed.get(chamber);
      placed.set(chamber, position.name);
      return other === undefined ? [] : [{ path, text: `"${chamber}" is watched by ${other} already; a chamber belongs to one position` }];
    }),
  );
}

type Template = SiteFile['templates'][string];

/** [SC4] */
function alarmFaults(name: string, template: Template): SiteFault[] {
  const bits = new Map<string, string>();
  return Object.entries(template.alarms).flatMap(([code, { from }]) => {
    const path = ['templates', name, 'alarms', code, 'from'];
    if ('condition' in from && !template.conditions) return [{ path, text: 'comes from a condition; name the notifier under conditions' }];
    const source = 'condition' in from ? `condition ${from.condition}` : 'bit' in from ? `bit ${from.bit} of ${from.node}` : from.node;
    const other = bits.get(source);
    bits.set(source, code);
    return other === undefined ? [] : [{ path, text: `${source} is alarm ${other} already; each alarm needs its own` }];
  });
}

/** Which units measure which quantity; a signal without a unit takes none. */
const MEASURES: Readonly<Record<SiUnit, readonly TagUnit[]>> = {
  Pa: ['Pa', 'mbar', 'bar', 'mTorr', 'Torr', 'kPa'],
  'mol/s': ['mol/s', 'sccm', 'slm', 'percent-of-full-scale'],
  W: ['W', 'kW'],
  K: ['K', 'degC'],
  s: ['s', 'min', 'h'],
  'm3/s': ['L/min'],
  '1': ['1', 'percent'],
  '': [],
};

/** [SC5] */
function tagFaults(
  path: SiteFault['path'],
  tags: Readonly<Record<string, TagBinding | null | undefined>>,
  template?: Template,
): SiteFault[] {
  return Object.entries(tags).flatMap(([signal, binding]) => {
    const at = (key: string, text: string | null): SiteFault[] => (text === null ? [] : [{ path: [...path, signal, key], text }]);
    if (!binding) return [];
    const { unit, counts } = binding;
    return [
      ...at('unit', unit === undefined ? null : unitFault(signal as SignalName, unit, template)),
      ...at('bit', bitFault(signal as SignalName, binding)),
      ...at(
        'counts',
        counts === undefined || signal === 'recipe.step' ? null : `saw "${counts}"; only recipe.step counts steps, take it out`,
      ),
    ];
  });
}

/** [SC13] */
function bitFault(signal: SignalName, { bit, words }: TagBinding): string | null {
  if (bit === undefined) return null;
  if (SIGNALS[signal].kind !== 'boolean') return `saw ${bit}; a bit is a yes or a no, and this signal is none, take it out`;
  return words === undefined ? null : `saw ${bit} beside words; a bit has none, take the words out and turn it around with inverted`;
}

function unitFault(signal: SignalName, unit: TagUnit, template: Template | undefined): string | null {
  const allowed = MEASURES[SIGNALS[signal].unit];
  if (!allowed.includes(unit)) return `saw "${unit}"; allowed for this signal: ${allowed.length === 0 ? 'no unit' : allowed.join(', ')}`;
  const line = /^gas\.([1-4])\./.exec(signal)?.[1] as '1' | '2' | '3' | '4' | undefined;
  if (unit !== 'percent-of-full-scale' || line === undefined || template === undefined) return null;
  return template.gases[line] === undefined ? `percent of full scale needs gases.${line} with its full scale` : null;
}

/** [SC6] */
function pathFaults(site: SiteFile): SiteFault[] {
  const places = site.chambers.map((c) => `${c.path} on ${c.server}`);
  return repeated(places, (i) => ['chambers', i, 'path']);
}

/** [SC7] */
function reasonFaults(site: SiteFile): SiteFault[] {
  const reasons = site.reasons ?? [];
  const kinds = reasons.flatMap(({ state, downtime }, i) =>
    downtime === null || state.endsWith('downtime')
      ? []
      : [{ path: ['reasons', i, 'downtime'], text: `saw "${downtime}"; ${state} is no downtime, take it out` }],
  );
  const words = reasons.map(({ state, reason }) => `${reason} (${state})`);
  return [...kinds, ...repeated(words, (i) => ['reasons', i, 'reason'])];
}

/** [SC10] */
function maintenanceFaults(site: SiteFile): SiteFault[] {
  const ids = site.chambers.map((chamber) => chamber.id);
  const taken = new Set<string>();
  return site.maintenance.flatMap(({ name, chambers }, i) => {
    const unknown = (chambers ?? []).flatMap((chamber, c) => unknownName(['maintenance', i, 'chambers', c], chamber, ids));
    const of = chambers ?? ids;
    const again = of.filter((chamber) => taken.has(`${chamber} ${name}`));
    for (const chamber of of) taken.add(`${chamber} ${name}`);
    const text = `"${name}" is an interval of ${again.join(', ')} already; each needs its own name`;
    return again.length === 0 ? unknown : [...unknown, { path: ['maintenance', i, 'name'], text }];
  });
}

/** [SC8] */
function calendarFaults({ calendar: { shifts, changes, holidays } }: SiteFile): SiteFault[] {
  const order = changes.flatMap(({ from }, i) => {
    const before = changes[i - 1]?.from;
    if (before === undefined || before < from) return [];
    return [{ path: ['calendar', 'changes', i, 'from'], text: `saw "${from}"; it must be after ${before}, the change before it` }];
  });
  return [
    ...order,
    ...repeated(
      holidays.map(({ date }) => date),
      (i) => ['calendar', 'holidays', i, 'date'],
    ),
    ...shiftFaults(['calendar', 'shifts'], shifts),
    ...changes.flatMap((change, i) => shiftFaults(['calendar', 'changes', i, 'shifts'], change.shifts)),
  ];
}

function shiftFaults(path: SiteFault['path'], shifts: SiteFile['calendar']['shifts']): SiteFault[] {
  return shifts.flatMap(({ name, days }, i) => {
    const other = shifts.slice(0, i).find((one) => one.name === name && one.days.some((day) => days.includes(day)));
    const twice = days.find((day) => other?.days.includes(day)) ?? days.find((day, n) => days.indexOf(day) !== n);
    if (twice === undefined) return [];
    return [{ path: [...path, i, 'days'], text: `${name} starts on ${twice} already; give one of them another name or other days` }];
  });
}

/** [SC9] */
function summaryFaults({ alerts, reports }: SiteFile): SiteFault[] {
  const mail = alerts.routes.filter((route) => route.type === 'mail').map((route) => route.name);
  const named = reports.weekly.routes;
  const cure = mail.length === 0 ? 'the file has no mail route' : `the mail routes are ${mail.join(', ')}`;
  return [
    ...named.flatMap((route, i) =>
      mail.includes(route) ? [] : [{ path: ['reports', 'weekly', 'routes', i], text: `saw "${route}"; ${cure}` }],
    ),
    ...repeated([...named], (i) => ['reports', 'weekly', 'routes', i]),
  ];
}

/** [SC11] */
function utilityFaults(site: SiteFile): SiteFault[] {
  const ids = site.chambers.map((chamber) => chamber.id);
  return site.utilities.flatMap(({ chambers }, u) => [
    ...chambers.flatMap((chamber, c) => unknownName(['utilities', u, 'chambers', c], chamber, ids)),
    ...repeated([...chambers], (c) => ['utilities', u, 'chambers', c]),
  ]);
}
