/**
 * Reads an unknown server's variables as chambers: which objects look like chambers, and which of their variables could be which signal.
 * A proposal with its reasons, for a person to judge; nothing is decided here.
 * [DS1] A variable is a candidate for a signal when its words (path, cut at capitals, digits and marks) hold one of each list the signal
 *       wants, its own name at least one of them, and none that rules it out, and when its type and unit fit.
 * [DS2] Better fit first: unit named and of the right kind, words that make it likelier, fewer words left over.
 * [DS3] A variable goes to one signal, the one it fits best; a signal takes its best variable, the others are told as second choices.
 * [DS4] A gas line's number is the number in its name; several lines without one are numbered in order of name.
 * [DS5] Chambers are sibling objects whose variables have mostly the same names beneath them; a server without such siblings is one chamber.
 *       Siblings that hold more than half of all variables are chambers even if no word in them is understood.
 * [DS7] A machine that follows OPC 40001-1 is a chamber by its item state alone, however little else it tells.
 * [DS6] Booleans under alarm words become alarms; their code is their name in capitals. Whole numbers named as alarm words carry alarms by bit:
 *       they are told apart, because only a person knows what a bit means.
 * [DS8] German words and their usual abbreviations are read as English ones; a description is read where the name says nothing, and counts less.
 * [DS9] A utility that is told once beside the chambers is each chamber's that has none of its own.
 * [DS10] What cannot be read now, and a whole number where a text is wanted, are taken only if nothing better is there.
 */
import { inEnglish, withoutUmlauts } from './german-words.ts';
import { GAS_LINES, isSignalName, SIGNALS, type SignalKind, type SignalName, type SiUnit } from './signal.ts';
import { CORE_SIGNALS, SIGNAL_WORDS, type SignalWords } from './signal-words.ts';
import { isUnit, siUnitOf, type Unit } from './units.ts';

export type FoundVariable = {
  /** Browse names from the Objects folder down, its own last. */
  readonly path: readonly string[];
  /** `nsu=<uri>;s=<id>` */
  readonly node: string;
  readonly type: 'number' | 'integer' | 'boolean' | 'text' | 'other';
  /** In our words, null where the server names none or one we do not know. */
  readonly unit: Unit | null;
  /** As the server shows it. */
  readonly unitText: string | null;
  readonly range: readonly [number, number] | null;
  readonly value: string;
  readonly description: string;
  /** The status, where it could not be read. */
  readonly unread?: string;
  /** The unit stands only in the description. */
  readonly isUnitFromDescription?: boolean;
};

/** An alarm that is told as an event. `notifier` is the node of the object that it belongs to. */
export type FoundCondition = { readonly path: readonly string[]; readonly name: string; readonly notifier: string };

export type Candidate = {
  readonly signal: SignalName;
  readonly variable: FoundVariable;
  readonly score: number;
  readonly reason: string;
  readonly inverted: boolean;
  /** Next best variables, by name. */
  readonly others: readonly string[];
};
export type FoundAlarm = { readonly code: string; readonly text: string; readonly variable: FoundVariable };
export type FoundChamber = {
  readonly name: string;
  readonly path: readonly string[];
  readonly candidates: readonly Candidate[];
  readonly alarms: readonly FoundAlarm[];
  /** Whole numbers whose bits are alarms. */
  readonly alarmWords: readonly FoundVariable[];
  readonly conditions: readonly FoundCondition[];
  readonly unused: readonly FoundVariable[];
  /** Of the signals without which runs cannot be told, those that have no candidate. */
  readonly missing: readonly SignalName[];
};

const ALARM_WORDS = ['alarm', 'alarms', 'fault', 'faults', 'warning', 'warnings', 'error', 'errors', 'trip'];
const WORD_WORDS = ['word', 'words', 'bits', 'register', 'mask', 'flags'];
const ALIKE = 0.6;
const LEAST_VARIABLES = 5;
const LEAST_SIGNALS = 3;

/** [DS1] */
export function wordsOf(text: string): readonly string[] {
  const words = withoutUmlauts(text)
    .replace(/([a-z0-9])([A-Z])/g, '$1 $2')
    .replace(/([A-Z]+)([A-Z][a-z])/g, '$1 $2')
    .toLowerCase()
    .split(/[^a-z0-9]+/)
    .filter(Boolean);
  return words.flatMap((word) => {
    const parts = word.match(/[a-z]+|\d+/g) ?? [];
    return parts.length > 1 ? [...parts, word] : [word];
  });
}

/** [DS8] The words with what they mean in English. */
function termsOf(text: string): readonly string[] {
  const words = wordsOf(text);
  return [...words, ...inEnglish(words)];
}

/** [DS5] The chambers of a server, in order of path. */
export function discover(variables: readonly FoundVariable[], conditions: readonly FoundCondition[] = []): readonly FoundChamber[] {
  const roots = chamberRoots(variables);
  const under = (root: readonly string[]): readonly FoundVariable[] => variables.filter(({ path }) => startsWith(path, root));
  const told = (root: readonly string[]): readonly FoundCondition[] => conditions.filter(({ path }) => startsWith(path, root));
  const beside = variables.filter(({ path }) => !roots.some((root) => startsWith(path, root)));
  const shared = assigned(beside, 0).filter(({ signal }) => signal.startsWith('utility.'));
  const chambers = roots.map((root) => chamberOf(root, under(root), told(root)));
  const isAny = chambers.some(({ candidates }) => isEnough(candidates));
  return isAny ? chambers.map((chamber) => withShared(chamber, shared)) : [];
}

/** [DS9] */
function withShared(chamber: FoundChamber, shared: readonly Candidate[]): FoundChamber {
  const added = shared.filter(({ signal }) => !chamber.candidates.some((own) => own.signal === signal));
  const told = added.map((one) => ({ ...one, reason: `told once for all chambers; ${one.reason}` }));
  return { ...chamber, candidates: inOrder([...chamber.candidates, ...told]) };
}

function chamberRoots(variables: readonly FoundVariable[]): readonly (readonly string[])[] {
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
const isEnough = (candidates: readonly Candidate[]): boolean =>
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

const startsWith = (path: readonly string[], root: readonly string[]): boolean => root.every((name, i) => path[i] === name);

function chamberOf(root: readonly string[], variables: readonly FoundVariable[], conditions: readonly FoundCondition[]): FoundChamber {
  const alarms = variables.filter((variable) => isAlarm(variable, root.length)).map(alarmOf);
  const alarmWords = variables.filter(isAlarmWord);
  const taken = new Set([...alarms.map(({ variable }) => variable), ...alarmWords]);
  const candidates = assigned(
    variables.filter((variable) => !taken.has(variable)),
    root.length,
  );
  for (const { variable } of candidates) taken.add(variable);
  return {
    name: root.at(-1) ?? 'chamber',
    path: root,
    candidates,
    alarms: unlike(alarms),
    alarmWords,
    conditions,
    unused: variables.filter((variable) => !taken.has(variable)),
    missing: CORE_SIGNALS.filter((signal) => !candidates.some((candidate) => candidate.signal === signal)),
  };
}

/** [DS6] */
function isAlarm({ type, path }: FoundVariable, depth: number): boolean {
  return (
    type === 'boolean' &&
    path
      .slice(depth)
      .flatMap(termsOf)
      .some((word) => ALARM_WORDS.includes(word))
  );
}

/** [DS6] */
function isAlarmWord({ type, path }: FoundVariable): boolean {
  const own = termsOf(path.at(-1) ?? '');
  return type === 'integer' && own.some((word) => ALARM_WORDS.includes(word)) && own.some((word) => WORD_WORDS.includes(word));
}

function alarmOf(variable: FoundVariable): FoundAlarm {
  const name = variable.path.at(-1) ?? '';
  const code = wordsOf(name)
    .join('_')
    .toUpperCase()
    .replace(/^(?![A-Z])/, 'A_')
    .slice(0, 40);
  return { code: code.length < 2 ? `${code}_ALARM` : code, text: variable.description || wordsOf(name).join(' '), variable };
}

/** Codes name alarms: a second of the same name gets a number. */
function unlike(alarms: readonly FoundAlarm[]): readonly FoundAlarm[] {
  const seen = new Map<string, number>();
  return alarms.map((alarm) => {
    const times = (seen.get(alarm.code) ?? 0) + 1;
    seen.set(alarm.code, times);
    return times === 1 ? alarm : { ...alarm, code: `${alarm.code.slice(0, 37)}_${times}` };
  });
}

type Fit = {
  readonly signal: SignalName;
  readonly variable: FoundVariable;
  readonly score: number;
  readonly reason: string;
  readonly inverted: boolean;
};

/** [DS3] */
function assigned(variables: readonly FoundVariable[], depth: number): readonly Candidate[] {
  const lines = gasLines(variables, depth);
  const fits = variables
    .flatMap((variable) => SIGNAL_WORDS.flatMap((words) => fitOf(variable, words, { depth, line: lines.get(variable) ?? null }) ?? []))
    .sort((a, b) => b.score - a.score || (a.variable.node < b.variable.node ? -1 : 1));
  const taken = new Map<SignalName, Fit>();
  const used = new Set<FoundVariable>();
  for (const fit of fits) {
    if (taken.has(fit.signal) || used.has(fit.variable)) continue;
    taken.set(fit.signal, fit);
    used.add(fit.variable);
  }
  return inOrder([...taken.values()].map((fit) => ({ ...fit, others: othersOf(fit, fits, used) })));
}

function inOrder(candidates: readonly Candidate[]): readonly Candidate[] {
  const order = Object.keys(SIGNALS);
  return candidates.toSorted((a, b) => order.indexOf(a.signal) - order.indexOf(b.signal));
}

function othersOf(fit: Fit, fits: readonly Fit[], used: ReadonlySet<FoundVariable>): readonly string[] {
  const others = fits.filter(({ signal, variable }) => signal === fit.signal && !used.has(variable));
  return [...new Set(others.map(({ variable }) => variable.path.slice(-2).join('/')))].slice(0, 3);
}

const KINDS: Readonly<Record<SignalKind, readonly FoundVariable['type'][]>> = {
  analog: ['number', 'integer'],
  count: ['integer'],
  boolean: ['boolean'],
  text: ['text'],
};
/** [DS10] A mode may be a number that the site file puts into words; a recipe or a load is often only a number. */
const NUMBERS_TOO: readonly string[] = ['sequence.mode', 'recipe.name', 'load.id'];
const AS_NUMBER = -4;
const UNREAD = -6;
const BY_DESCRIPTION = -5;
type Place = { readonly depth: number; readonly line: number | null };
type Names = { readonly own: readonly string[]; readonly all: readonly string[] };

/** [DS1] [DS2] [DS8] */
function fitOf(variable: FoundVariable, words: SignalWords, { depth, line }: Place): Fit | null {
  const isNumber = variable.type === 'integer' && NUMBERS_TOO.includes(words.signal);
  if (!KINDS[words.kind].includes(variable.type) && !isNumber) return null;
  const signal = words.signal.replace('.N.', `.${line ?? 0}.`);
  if (!isSignalName(signal)) return null;
  const unit = unitFit(variable, words.unit, signal);
  if (unit === null) return null;
  const own = termsOf(variable.path.at(-1) ?? '');
  const all = variable.path.slice(depth).flatMap(termsOf);
  const described = termsOf(variable.description);
  const named = nameFit({ own, all }, words);
  const name = named ?? nameFit({ own: [...own, ...described], all: [...all, ...described] }, words);
  if (name === null) return null;
  const less = (named === null ? BY_DESCRIPTION : 0) + (variable.unread === undefined ? 0 : UNREAD) + (isNumber ? AS_NUMBER : 0);
  const score = name.score + unit.score + less - 0.5 * own.length;
  const reason = `its ${named === null ? 'description' : 'name'} says ${name.said}${unit.reason}`;
  return { signal, variable, score, inverted: name.inverted, reason };
}

/** [DS1] */
function nameFit({ own, all }: Names, words: SignalWords): { score: number; said: string; inverted: boolean } | null {
  if (words.none?.some((word) => own.includes(word)) === true) return null;
  const hits = words.all.map((list) => list.find((word) => all.includes(word)));
  const telling = [...words.all.flat(), ...(words.better ?? []), ...(words.opposite ?? [])];
  if (hits.includes(undefined) || !telling.some((word) => own.includes(word))) return null;
  const better = (words.better ?? []).filter((word) => all.includes(word));
  const foreign = (words.none ?? []).filter((word) => all.includes(word)).length;
  const said = [...new Set([...hits, ...better].map((word) => `"${String(word)}"`))].join(', ');
  const inverted = words.opposite?.some((word) => own.includes(word)) ?? false;
  return { score: 10 * words.all.length + 3 * better.length - 6 * foreign, said, inverted };
}

function unitFit(
  { unit, unitText, isUnitFromDescription }: FoundVariable,
  wanted: SiUnit,
  signal: SignalName,
): { score: number; reason: string } | null {
  if (wanted === '' || wanted === '1') return { score: 0, reason: '' };
  if (unit === null) return { score: -2, reason: unitText === null ? '; it names no unit' : `; its unit "${unitText}" is not known` };
  const isFlowInPercent = unit === 'percent' && signal.startsWith('gas.');
  if (!isUnit(unit) || (siUnitOf(unit) !== wanted && !isFlowInPercent)) return null;
  return { score: 8, reason: `, in ${unitText ?? unit}${isUnitFromDescription === true ? ' by its description' : ''}` };
}

const LINE_WORDS = ['gas', 'mfc', 'flow', 'line', 'channel', 'ch', 'durchfluss', 'linie', 'kanal', 'leitung', 'mdr'];

/** [DS4] Of every variable about gas: which of the four lines. */
function gasLines(variables: readonly FoundVariable[], depth: number): ReadonlyMap<FoundVariable, number> {
  const found = new Map<FoundVariable, number>();
  for (const variable of variables) {
    const words = variable.path.slice(depth).flatMap(wordsOf);
    const at = words.findIndex((word, i) => LINE_WORDS.includes(word) && /^\d+$/.test(words[i + 1] ?? ''));
    const number = Number(words[at + 1]);
    if (at >= 0 && (GAS_LINES as readonly number[]).includes(number)) found.set(variable, number);
  }
  if (found.size > 0) return found;
  const folders = [...new Set(variables.filter(isGas).map(folderOf))].sort();
  for (const variable of variables) {
    const line = folders.indexOf(folderOf(variable)) + 1;
    if (line > 0 && line <= GAS_LINES.length) found.set(variable, line);
  }
  return found;
}

const isGas = ({ path, unit, type }: FoundVariable): boolean =>
  type !== 'boolean' && unit !== null && siUnitOf(unit) === 'mol/s' && path.length > 0;
const folderOf = ({ path }: FoundVariable): string => path.slice(0, -1).join('/');
