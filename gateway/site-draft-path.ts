/**
 * How chambers of one kind share a template: what differs between their nodes becomes {path}. That is the chamber's name where the nodes bear it;
 * else, as with numbered nodes, the one stretch that differs between them, if it is the same in every tag. What finds neither keeps its nodes as they
 * are, in a template of its own.
 */
import type { FoundChamber, FoundVariable } from '../src/found.ts';

export type Pathed = {
  readonly chamber: FoundChamber;
  /** For the site file. */
  readonly path: string;
  /** A node's text in the template. */
  readonly nodeOf: (node: string) => string;
};

export function pathed(chambers: readonly FoundChamber[]): readonly Pathed[] {
  const named = chambers.map(byName);
  const bearsName = chambers.some((chamber, i) => variablesOf(chamber).some(({ node }) => named[i]?.nodeOf(node) !== node));
  if (bearsName) return named;
  const alike = [...Map.groupBy(chambers, shapeOf).values()];
  return alike.flatMap((group) => byStretch(group) ?? group.map(byName)).sort((a, b) => order(chambers, a) - order(chambers, b));
}

const order = (chambers: readonly FoundChamber[], { chamber }: Pathed): number => chambers.indexOf(chamber);

function byName(chamber: FoundChamber): Pathed {
  const nodeOf = (node: string): string => {
    const cut = node.indexOf(';') + 1;
    return node.slice(0, cut) + node.slice(cut).replaceAll(chamber.name, '{path}');
  };
  return { chamber, path: chamber.name, nodeOf };
}

const isOwn = ({ path }: FoundVariable, chamber: FoundChamber): boolean => chamber.path.every((name, i) => path[i] === name);
const relative = ({ path }: FoundVariable, chamber: FoundChamber): string => path.slice(chamber.path.length).join('\u0000');

/** What the site file will bind, by its place beneath the chamber. */
const boundOf = ({ candidates, alarms, alarmWords }: FoundChamber): readonly FoundVariable[] => [
  ...candidates.map(({ variable }) => variable),
  ...alarms.map(({ variable }) => variable),
  ...alarmWords,
];
const variablesOf = (chamber: FoundChamber): readonly FoundVariable[] =>
  [...boundOf(chamber), ...chamber.unused].filter((variable) => isOwn(variable, chamber));

const shapeOf = (chamber: FoundChamber): string =>
  [
    ...chamber.candidates.map(({ signal, variable }) => `${signal} ${relative(variable, chamber)}`),
    ...chamber.alarms.map(({ code, variable }) => `${code} ${relative(variable, chamber)}`),
  ].join('\n');

type Stretch = { readonly before: string; readonly after: string; readonly mids: readonly string[] };

function byStretch(group: readonly FoundChamber[]): readonly Pathed[] | null {
  const [first] = group;
  if (first === undefined || group.length < 2) return null;
  const places = group.map((chamber) => new Map(variablesOf(chamber).map((variable) => [relative(variable, chamber), variable.node])));
  const stretches = new Map<string, Stretch>();
  for (const [place, node] of places[0] as Map<string, string>) {
    const nodes = places.map((nodes) => nodes.get(place));
    if (nodes.every((other) => other !== undefined) && nodes.some((other) => other !== node)) stretches.set(place, stretchOf(nodes));
  }
  const bound = boundOf(first).flatMap((variable) => stretches.get(relative(variable, first)) ?? []);
  const mids = bound[0]?.mids;
  if (mids === undefined || mids.includes('') || bound.some((one) => one.mids.join('\n') !== mids.join('\n'))) return null;
  const notifiers = group.flatMap(({ conditions }) => conditions.map(({ notifier }) => notifier));
  if (new Set(notifiers).size > 1) return null;
  return group.map((chamber, i) => {
    const texts = new Map(
      [...stretches].flatMap(([place, one]) =>
        one.mids.join('\n') === mids.join('\n') ? [[places[i]?.get(place), `${one.before}{path}${one.after}`]] : [],
      ),
    );
    return { chamber, path: mids[i] as string, nodeOf: (node) => texts.get(node) ?? node };
  });
}

/** Where some nodes are the same before and after, and what stands between. The kind of node and its namespace are never cut into. */
function stretchOf(nodes: readonly string[]): Stretch {
  const [first = ''] = nodes;
  const shortest = Math.min(...nodes.map(({ length }) => length));
  let before = 0;
  while (before < shortest && nodes.every((node) => node[before] === first[before])) before++;
  let after = 0;
  while (after < shortest - before && nodes.every((node) => node.at(-1 - after) === first.at(-1 - after))) after++;
  return {
    before: first.slice(0, before),
    after: first.slice(first.length - after),
    mids: nodes.map((node) => node.slice(before, node.length - after)),
  };
}
