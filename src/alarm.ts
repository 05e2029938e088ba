/**
 * A chamber's alarms, in the manner of ISA-18.2: a condition stands or does not; a change is told once.
 * [AL1] Activated and cleared are each told once per change; the same word again, as after a reconnect, is not an activation.
 * [AL2] Found standing at first sight or after a hole, its begin unseen: it stands but is not counted.
 * [AL3] A code that the site file does not know still stands, under its own name, without effect.
 * [AL4] At most 200 codes are remembered, and 20 branches of each: a hostile server cannot grow the state without bound.
 * [AL5] Shelved, suppressed by design or out of service when it is activated: told as suppressed, and by what. A change of that alone is no activation.
 * [AL6] Acknowledged at the machine is told once, when it was seen to happen; each activation is to be acknowledged anew. So is confirmed.
 * [AL7] Shelved, suppressed by design and out of service are three facts that may hold together; that one begins or ends is told once. An end of
 *       shelving that shifts by less than five seconds is the same end.
 * [AL8] A branch (OPC 10000-9, 5.5.2) is an earlier activation that still waits for an operator: it is told when it is seen first, when it is
 *       acknowledged or confirmed, and when it is gone, and is never an activation.
 * [AL9] Latched (OPC 10000-9, 5.8.2) is told where it holds an alarm that has returned to normal: with its clearing, or when it begins later; then
 *       once more when it is reset. It is no standing: that ends with the process condition.
 */
import type { AlarmDefinition, ChamberRules } from './chamber-rules.ts';
import type { AlarmStand } from './chamber-state.ts';
import { type Suppression, SUPPRESSIONS } from './equipment.ts';
import type { AlarmEvent } from './event.ts';
import type { SignalValue } from './reading.ts';
import { BRANCH_WORDS, type AlarmSide, type BranchWord } from './signal.ts';

const MOST_CODES = 200;
const MOST_BRANCHES = 20;
const LONGEST_CODE = 40;
const SAME_END_MS = 5000;

type Alarms = Readonly<Record<string, AlarmStand>>;
export type AlarmWord = {
  readonly code: string;
  readonly side: AlarmSide;
  readonly is: SignalValue;
  readonly at: number;
  readonly eyesOpen: boolean;
};
type Told = { readonly alarms: Alarms; readonly event: AlarmEvent | null };

export const UNHEARD: AlarmStand = {
  since: null,
  heard: false,
  counted: false,
  suppressed: false,
  suppressedAs: [],
  suppressedSince: null,
  shelvedUntil: null,
  acknowledged: null,
  confirmed: null,
  branches: [],
};

/** [AL3] */
export function definitionOf(rules: ChamberRules, code: string): AlarmDefinition {
  const known = Object.hasOwn(rules.alarms, code) ? rules.alarms[code] : undefined;
  return known ?? { code, text: code, priority: 'medium', effect: 'none', notice: false };
}

/** [AL1]-[AL9] The alarms after one word about one of them, and the event if something is to be told. Same object when nothing changed. */
export function alarmTold(rules: ChamberRules, alarms: Alarms, word: AlarmWord): Told {
  const code = word.code.slice(0, LONGEST_CODE);
  const known = Object.hasOwn(alarms, code) ? alarms[code] : undefined;
  if (!known && Object.keys(alarms).length >= MOST_CODES) return { alarms, event: null };
  const { stand, change, counted = stand?.counted ?? false, ...more } = turn(known, word);
  if (stand === undefined || stand === known) return { alarms, event: null };
  const next = { ...alarms, [code]: stand };
  if (change === null) return { alarms: next, event: null };
  const at = change === 'cleared' ? Math.max(word.at, known?.since ?? word.at) : word.at;
  const { text, priority, notice } = definitionOf(rules, code);
  const { suppressed, suppressedAs } = stand;
  const held = suppressedAs.length > 0 ? { suppressedAs: [...suppressedAs] } : {};
  const about = { kind: 'alarm', chamber: rules.chamber, at, code, text, priority, notice } as const;
  return { alarms: next, event: { ...about, change, counted, suppressed, ...held, ...more } };
}

type Turn = {
  readonly stand: AlarmStand | undefined;
  readonly change: AlarmEvent['change'] | null;
  /** Whether the change was seen to happen, where that is not the activation's. */
  readonly counted?: boolean;
} & Pick<AlarmEvent, 'of' | 'shelvedUntil' | 'suppressedAs' | 'latched'>;

function turn(known: AlarmStand | undefined, word: AlarmWord): Turn {
  switch (word.side) {
    case 'active':
      return typeof word.is === 'boolean' ? activeTold(known, word, word.is) : SILENT(known);
    case 'acknowledged':
    case 'confirmed':
      return typeof word.is === 'boolean' ? answerTold(known, word, word.is) : SILENT(known);
    case 'latched':
      return typeof word.is === 'boolean' ? latchedTold(known, word, word.is) : SILENT(known);
    case 'branch':
      return branchTold(known, word);
    default:
      return suppressionTold(known, word);
  }
}

const SILENT = (known: AlarmStand | undefined): Turn => ({ stand: known, change: null });

/** [AL1] [AL2] [AL9] */
function activeTold(known: AlarmStand | undefined, { at, eyesOpen }: AlarmWord, is: boolean): Turn {
  const { since, heard, counted, ...sides } = known ?? UNHEARD;
  if (heard && is === (since !== null)) return SILENT(known);
  const stand = { ...sides, heard: true, since: is ? at : null, counted: is ? heard && eyesOpen : counted };
  if (is) return { stand, change: 'activated' };
  return { stand, change: since === null ? null : 'cleared', ...(sides.latched === true ? { latched: true } : {}) };
}

/** [AL6] */
function answerTold(known: AlarmStand | undefined, { side, eyesOpen }: AlarmWord, is: boolean): Turn {
  const which = side === 'confirmed' ? 'confirmed' : 'acknowledged';
  const before = known ?? UNHEARD;
  if (before[which] === is) return SILENT(known);
  const seen = is && before[which] === false && before.heard && eyesOpen;
  return { stand: { ...before, [which]: is }, change: seen ? which : null };
}

/** [AL9] */
function latchedTold(known: AlarmStand | undefined, { eyesOpen }: AlarmWord, is: boolean): Turn {
  const before = known ?? UNHEARD;
  if (before.latched === is) return SILENT(known);
  const stand = { ...before, latched: is };
  if (!before.heard || before.since !== null || (!is && before.latched === undefined)) return { stand, change: null };
  return { stand, change: is ? 'latched' : 'reset', counted: before.latched !== undefined && eyesOpen };
}

const SUPPRESSION_OF: Readonly<Partial<Record<AlarmSide, Suppression>>> = {
  shelved: 'shelved',
  'by-design': 'by design',
  'out-of-service': 'out of service',
  suppressed: 'not told which',
};

/** [AL5] [AL7] */
function suppressionTold(known: AlarmStand | undefined, { side, is, at, eyesOpen }: AlarmWord): Turn {
  const name = SUPPRESSION_OF[side];
  const isEnd = side === 'shelved' && typeof is === 'number';
  if (name === undefined || (typeof is !== 'boolean' && !isEnd)) return SILENT(known);
  const before = known ?? UNHEARD;
  const holds = is !== false;
  const until = side === 'shelved' ? (isEnd ? is : null) : before.shelvedUntil;
  if (before.suppressedAs.includes(name) === holds && isSameEnd(until, before.shelvedUntil)) return SILENT(known);
  const suppressedAs = SUPPRESSIONS.filter((one) => (one === name ? holds : before.suppressedAs.includes(one)));
  const suppressed = suppressedAs.length > 0;
  const stand = { ...before, suppressed, suppressedAs, suppressedSince: suppressed ? at : null, shelvedUntil: until };
  const end = suppressedAs.includes('shelved') ? { shelvedUntil: until } : {};
  return { stand, change: 'suppression', suppressedAs, counted: before.heard && eyesOpen, ...end };
}

const isSameEnd = (a: number | null, b: number | null): boolean => a === b || (a !== null && b !== null && Math.abs(a - b) < SAME_END_MS);

/** [AL8] */
function branchTold(known: AlarmStand | undefined, { is, eyesOpen }: AlarmWord): Turn {
  const [, began = '', change] = (typeof is === 'string' && /^(\d{1,15}) (.+)$/.exec(is)) || [];
  if (!isBranchWord(change)) return SILENT(known);
  const before = known ?? UNHEARD;
  const of = Number(began);
  const isKnown = before.branches.includes(of);
  if (change === 'branched' ? isKnown || before.branches.length >= MOST_BRANCHES : !isKnown) return SILENT(known);
  const branches = before.branches.filter((one) => one !== of);
  if (change !== 'branch-ended') branches.push(of);
  return { stand: { ...before, branches }, change, of, counted: eyesOpen };
}

const isBranchWord = (word: string | undefined): word is BranchWord => (BRANCH_WORDS as readonly (string | undefined)[]).includes(word);

/** What kept an alarm from being annunciated at the moment of a fact. */
export const suppressionsOf = ({ suppressed, suppressedAs }: Pick<AlarmEvent, 'suppressed' | 'suppressedAs'>): readonly Suppression[] =>
  suppressedAs ?? (suppressed ? ['not told which'] : []);

/** Codes that stand and would keep the chamber from running, by what they do to it, oldest first. */
export function standingWith(rules: ChamberRules, alarms: Alarms, effect: 'stop' | 'down'): readonly string[] {
  return Object.keys(alarms)
    .filter((code) => alarms[code]?.since !== null && definitionOf(rules, code).effect === effect)
    .sort((a, b) => (alarms[a]?.since ?? 0) - (alarms[b]?.since ?? 0));
}
