/**
 * Which objects of an unknown server are chambers.
 * [DS5] Chambers are sibling objects whose variables have mostly the same names beneath them; a server without such siblings is one chamber.
 *       Siblings that hold more than half of all variables are chambers even if no word in them is understood.
 * [DS7] A machine that follows OPC 40001-1 is a chamber by its item state alone, however little else it tells.
 */
import type { Candidate, FoundVariable } from './found.ts';
import { assigned } from './signal-fit.ts';

const ALIKE = 0.6;
const LEAST_VARIABLES = 5;
const LEAST_SIGNALS = 3;

/** [DS5] Their paths. */
export function chamberRoots(variables: readonly FoundVariable[]): readonly (readonly string[])[] {
  const deepest = variables.reduce((depth, { path }) => Math.max(depth, path.length - 1), 0);
  let most: readonly (readonly string[])[] = [];
  for (let depth = 1; depth <= deepest; depth++) {
    const groups = [
      ...Map.groupBy(
        variables.filter(({ path }) => path.length > depth),
        ({ path }) => path.slice(0, depth).join('\u0000'),
      ).values(),
    ];
    const alike = groups.filter(
      (group) => group.length >= LEAST_VARIABLES && groups.some((other) => other !== group && areAlike(group, other, depth)),
    );
    const chambers = alike.filter((group) => isEnough(assigned(group, depth)) && hasCore(assigned(group, depth)));
    const rootsOf = (groups: readonly FoundVariable[][]) => groups.map((group) => (group[0] as FoundVariable).path.slice(0, depth));
    if (chambers.length >= 2) return rootsOf(chambers);
    const isMost = alike.reduce((sum, group) => sum + group.length, 0) > variables.length / 2;
    if (most.length === 0 && isMost) most = rootsOf(alike);
  }
  const machines = machineRoots(variables);
  const outside = variables.filter(({ path }) => !machines.some((machine) => startsWith(path, machine)));
  if (machines.length > 0 && !hasCore(assigned(outside, 0))) return machines;
  const whole = variables.length === 0 ? [] : [commonPath(variables)];
  return most.length > 0 && !hasCore(assigned(variables, 0)) ? most : whole;
}

/** [DS7] What holds the building blocks, or the item state itself. */
function machineRoots(variables: readonly FoundVariable[]): readonly (readonly string[])[] {
  const roots = variables.flatMap(({ path }) => {
    const state = path.indexOf('MachineryItemState');
    const blocks = path.indexOf('MachineryBuildingBlocks');
    return state < 1 ? [] : [path.slice(0, blocks > 0 ? blocks : state)];
  });
  return [...new Map(roots.map((root) => [root.join('\u0000'), root])).values()];
}

/** [DS7] */
export const isEnough = (candidates: readonly Candidate[]): boolean =>
  candidates.length >= LEAST_SIGNALS || candidates.some(({ signal }) => signal === 'machine.itemState');

const hasCore = (candidates: readonly Candidate[]): boolean =>
  candidates.some(({ signal }) => signal === 'chamber.pressure' || signal === 'rf.forward' || signal === 'machine.itemState');

function areAlike(a: readonly FoundVariable[], b: readonly FoundVariable[], depth: number): boolean {
  const names = (group: readonly FoundVariable[]): Set<string> => new Set(group.map(({ path }) => path.slice(depth).join('/')));
  const [one, other] = [names(a), names(b)];
  const shared = [...one].filter((name) => other.has(name)).length;
  return shared / Math.min(one.size, other.size) >= ALIKE;
}

function commonPath(variables: readonly FoundVariable[]): readonly string[] {
  const [first, ...rest] = variables.map(({ path }) => path.slice(0, -1));
  let length = first?.length ?? 0;
  for (const path of rest) while (!startsWith(path, (first ?? []).slice(0, length))) length--;
  return (first ?? []).slice(0, length);
}

export const startsWith = (path: readonly string[], root: readonly string[]): boolean => root.every((name, i) => path[i] === name);
