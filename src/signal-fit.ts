/**
 * Which variable of a chamber could be which signal.
 * [DS1] A variable is a candidate for a signal when its words (path, cut at capitals, digits and marks) hold one of each list the signal
 *       wants, its own name at least one of them, and none that rules it out, and when its type and unit fit.
 * [DS2] Better fit first: unit named and of the right kind, words that make it likelier, fewer words left over.
 * [DS3] A variable goes to one signal, the one it fits best; a signal takes its best variable, the others are told as second choices.
 * [DS10] What cannot be read now, and a whole number where a text is wanted, are taken only if nothing better is there.
 */
import type { Candidate, FoundVariable } from './found.ts';
import { gasLines } from './gas-lines.ts';
import { termsOf } from './name-words.ts';
import { isSignalName, SIGNALS, type SignalKind, type SignalName, type SiUnit } from './signal.ts';
import { SIGNAL_WORDS, type SignalWords } from './signal-words.ts';
import { isUnit, siUnitOf } from './units.ts';

type Fit = {
  readonly signal: SignalName;
  readonly variable: FoundVariable;
  readonly score: number;
  readonly reason: string;
  readonly inverted: boolean;
};

/** [DS3] */
export function assigned(variables: readonly FoundVariable[], depth: number): readonly Candidate[] {
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

export function inOrder(candidates: readonly Candidate[]): readonly Candidate[] {
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
