/**
 * The alarm journal: each activation and what became of it, through the states of ISA-18.2 (letters from memory, names known second-hand).
 * [AJ1] Active and acknowledged are two facts, and the letter follows: A normal, B unacknowledged, C acknowledged, D returned to normal
 *       unacknowledged. Only an alarm's last activation can be in another than A; what a later one followed is over, unless it is a branch.
 * [AJ2] Where the machine tells no acknowledgement, it is not told: no time and no zero. The alarm stands as `B/C` and returns to A.
 * [AJ3] An acknowledgement belongs to the last activation before it, also after the alarm cleared. An activation followed by the next before
 *       anybody acknowledged it never was.
 * [AJ4] The first-out is the alarm that began an episode of one chamber: going back from an activation as long as neighbours are less than a
 *       minute apart, an hour at most. Activations of an alarm that came within the minute before are repeats and neither begin nor carry on
 *       an episode; nor do notices, suppressed alarms and alarms found standing. (Own rule.)
 * [AJ5] Shelved, suppressed by design and out of service are told apart with the activation and stay out of the rates. While one of them holds,
 *       the alarm is in I out of service, H suppressed by design or G shelved, in this order where several hold. Where the machine does not tell
 *       which, the letter is that of active and acknowledged.
 * [AJ6] Words are searched in chamber, code and text, small and capital letters alike; each word must be found.
 * [AJ7] Confirmed is a fact of its own, after acknowledged, and told only where the machine tells it.
 * [AJ8] A branch is an earlier activation that still waits for its own acknowledgement: it stays in D and gets what is told of it. It is the
 *       last activation that began no later than a second after the time the machine names it by.
 * [AJ9] Standing is what did not clear and what no later activation followed; a notice does not stand.
 * [AJ10] Latched: the last activation has returned to normal, and the machine holds it until somebody resets it there. E unacknowledged, F
 *       acknowledged, `E/F` where no acknowledgement is told. It does not stand: its standing ended when the process returned.
 */
import { isActivation } from './activation.ts';
import type { AlarmState, JournalKind, JournalRow } from './alarm-answer.ts';
import { suppressionsOf } from './alarm.ts';
import type { AlarmPriority, Suppression } from './equipment.ts';
import type { AlarmFact } from './facts.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

/** Alarms this close belong to one episode, and an alarm that comes back this soon is a repeat. */
const CLOSE_MS = MINUTE_MS;
/** How far back from a row its episode is looked for, and what must be known before the first row. */
const EPISODE_MS = HOUR_MS;
export const KNOWN_BEFORE_MS = EPISODE_MS + CLOSE_MS;

/** Of an activation and the name a branch has for it. */
const SAME_TIME_MS = 1000;

/** What happened next to an alarm, seen from before. */
export type Next = {
  readonly activatedAt: number | null;
  readonly clearedAt: number | null;
  readonly acknowledgedAt: number | null;
  readonly confirmedAt: number | null;
  readonly resetAt: number | null;
  /** Its last word on being latched after it returned to normal; null where there is none. */
  readonly latched: boolean | null;
  /** What keeps it from being annunciated since its last word on that. */
  readonly suppressedAs: readonly Suppression[] | null;
  /** Facts about activations further back, newest first. */
  readonly branches: readonly AlarmFact[];
};
/** By chamber and code. */
export type Nexts = ReadonlyMap<string, Next>;
const UNANSWERED = { acknowledgedAt: null, confirmedAt: null, resetAt: null, latched: null };
const NOTHING: Next = { activatedAt: null, clearedAt: null, ...UNANSWERED, suppressedAs: null, branches: [] };

export const alarmKey = ({ chamber, code }: { readonly chamber: string; readonly code: string }): string => JSON.stringify([chamber, code]);

/** [AJ3] [AJ8] What is next before a fact, from what is next after it. */
export function nextBefore(fact: AlarmFact, next: Next = NOTHING): Next {
  if (fact.of !== undefined) return { ...next, branches: [...next.branches, fact] };
  switch (fact.change) {
    case 'cleared':
      return { ...next, clearedAt: fact.at, latched: next.latched ?? fact.latched === true };
    case 'latched':
      return { ...next, latched: next.latched ?? true };
    case 'reset':
      return { ...next, resetAt: fact.at, latched: next.latched ?? false };
    case 'acknowledged':
      return { ...next, acknowledgedAt: fact.at };
    case 'confirmed':
      return { ...next, confirmedAt: fact.at };
    case 'suppression':
      return { ...next, suppressedAs: next.suppressedAs ?? suppressionsOf(fact) };
    case 'activated':
      return { ...next, activatedAt: fact.at, ...UNANSWERED, branches: olderThan(fact, next) };
    case 'branched':
    case 'branch-ended':
      return next;
  }
}

const isOf = (fact: AlarmFact, branch: AlarmFact): boolean => fact.at - SAME_TIME_MS <= (branch.of as number);
const olderThan = (fact: AlarmFact, { branches }: Next): Next['branches'] =>
  branches.length === 0 ? branches : branches.filter((branch) => !isOf(fact, branch));

/** What the machine tells of this alarm at all. */
export type Tells = {
  readonly acknowledged: boolean;
  readonly confirmed: boolean;
  /** Whether it says now that the alarm is latched: a reset may lie further on than the journal looks. */
  readonly latched: boolean;
};
export type Known = { readonly tells: Tells; readonly firstOut: JournalRow['firstOut'] };

/** [AJ1]-[AJ3] [AJ5] [AJ7] [AJ8] [AJ10] */
export function journalRowOf(fact: AlarmFact, next: Next = NOTHING, { tells, firstOut }: Known): JournalRow {
  const { kind: _kind, change: _change, suppressedAs: _as, shelvedUntil: _until, of: _of, latched: _latched, ...row } = fact;
  const own = ownOf(fact, next);
  const { clearedAt, acknowledgedAt, confirmedAt } = own;
  const now = next.activatedAt === null ? (next.suppressedAs ?? suppressionsOf(fact)) : [];
  return {
    ...row,
    suppressedAs: [...suppressionsOf(fact)],
    clearedAt,
    standingMs: clearedAt === null ? null : clearedAt - fact.at,
    state: letterOf(now) ?? stateOf({ ...own, latched: own.latched && tells.latched }, tells.acknowledged),
    acknowledgement: answerOf(acknowledgedAt, own.isOver, tells.acknowledged),
    acknowledgedAt,
    acknowledgeMs: acknowledgedAt === null ? null : acknowledgedAt - fact.at,
    confirmation: confirmationOf(own, tells.confirmed),
    confirmedAt,
    resetAt: own.resetAt,
    branch: own.branch,
    firstOut,
  };
}

type Own = Pick<Next, 'clearedAt' | 'acknowledgedAt' | 'confirmedAt' | 'resetAt'> & {
  readonly isOver: boolean;
  readonly branch: boolean;
  readonly latched: boolean;
};

/** [AJ8] What became of this activation itself. */
function ownOf(fact: AlarmFact, { activatedAt, clearedAt, acknowledgedAt, confirmedAt, resetAt, latched, branches }: Next): Own {
  const about = branches.filter((branch) => isOf(fact, branch));
  const at = (change: AlarmFact['change']): number | null => about.findLast((branch) => branch.change === change)?.at ?? null;
  const branch = at('branched') !== null;
  return {
    clearedAt,
    acknowledgedAt: acknowledgedAt ?? at('acknowledged'),
    confirmedAt: confirmedAt ?? at('confirmed'),
    isOver: activatedAt !== null && (!branch || at('branch-ended') !== null),
    branch,
    resetAt,
    latched: activatedAt === null && clearedAt !== null && latched === true,
  };
}

/** [AJ5] */
function letterOf(suppressions: readonly Suppression[]): AlarmState | null {
  if (suppressions.includes('out of service')) return 'I';
  if (suppressions.includes('by design')) return 'H';
  return suppressions.includes('shelved') ? 'G' : null;
}

/** [AJ1] [AJ2] [AJ10] */
function stateOf({ isOver, clearedAt, acknowledgedAt, latched }: Own, tells: boolean): AlarmState {
  if (isOver) return 'A';
  if (latched) return acknowledgedAt !== null ? 'F' : tells ? 'E' : 'E/F';
  if (acknowledgedAt !== null) return clearedAt === null ? 'C' : 'A';
  if (clearedAt === null) return tells ? 'B' : 'B/C';
  return tells ? 'D' : 'A';
}

/** [AJ2] [AJ3] */
function answerOf(answeredAt: number | null, isOver: boolean, tells: boolean): JournalRow['acknowledgement'] {
  if (answeredAt !== null) return 'acknowledged';
  if (!tells) return 'not told';
  return isOver ? 'never' : 'awaited';
}

/** [AJ7] */
function confirmationOf({ confirmedAt, isOver }: Own, tells: boolean): JournalRow['confirmation'] {
  if (confirmedAt !== null) return 'confirmed';
  if (!tells) return 'not told';
  return isOver ? 'never' : 'awaited';
}

/** [AJ4] The first-out of each activation that belongs to an episode, from one chamber's facts (ascending). */
export function firstOuts(facts: readonly AlarmFact[]): ReadonlyMap<number, JournalRow['firstOut']> {
  const onsets = onsetsOf(facts);
  return new Map(
    onsets.flatMap((onset, i) => {
      const first = firstOf(onsets, i);
      const isAlone = first === onset && !isClose(onset, onsets[i + 1]);
      const { code, text, at } = first;
      return isAlone ? [] : [[onset.seq, { code, text, at, isThis: first === onset }] as const];
    }),
  );
}

/** [AJ4] Counted activations that are no repeats. */
function onsetsOf(facts: readonly AlarmFact[]): readonly AlarmFact[] {
  const last = new Map<string, number>();
  return facts.filter(isActivation).filter(({ code, at }) => {
    const isRepeat = at - (last.get(code) ?? -Infinity) < CLOSE_MS;
    last.set(code, at);
    return !isRepeat;
  });
}

function firstOf(onsets: readonly AlarmFact[], index: number): AlarmFact {
  const from = (onsets[index] as AlarmFact).at;
  let first = index;
  while (first > 0 && isClose(onsets[first - 1], onsets[first]) && from - (onsets[first - 1] as AlarmFact).at <= EPISODE_MS) first--;
  return onsets[first] as AlarmFact;
}

const isClose = (a: AlarmFact | undefined, b: AlarmFact | undefined): boolean =>
  a !== undefined && b !== undefined && b.at - a.at < CLOSE_MS;

export type JournalFilter = {
  readonly words?: string | undefined;
  readonly priority?: AlarmPriority | undefined;
  readonly state?: AlarmState | undefined;
  readonly show?: JournalKind | undefined;
};

/** [AJ6] Whether the row is one of those asked for. */
export function isAskedFor(row: JournalRow, { words = '', priority, state, show = 'all' }: JournalFilter): boolean {
  if (priority !== undefined && row.priority !== priority) return false;
  if (state !== undefined && row.state !== state) return false;
  if (!isOfKind(row, show)) return false;
  const text = `${row.chamber} ${row.code} ${row.text}`.toLowerCase();
  return words
    .toLowerCase()
    .split(/\s+/)
    .every((word) => text.includes(word));
}

const LATCHED: readonly AlarmState[] = ['E', 'F', 'E/F'];

/** [AJ5] [AJ9] [AJ10] */
function isOfKind({ counted, suppressed, suppressedAs, notice, clearedAt, state }: JournalRow, show: JournalKind): boolean {
  switch (show) {
    case 'standing':
      return clearedAt === null && state !== 'A' && state !== 'D' && !notice;
    case 'latched':
      return LATCHED.includes(state) && !notice;
    case 'all':
      return true;
    case 'alarms':
      return !notice;
    case 'counted':
      return counted && !suppressed && !notice;
    case 'suppressed':
      return suppressed;
    case 'shelved':
    case 'by design':
    case 'out of service':
      return suppressedAs.includes(show);
    case 'notices':
      return notice;
    case 'found standing':
      return !counted && !notice;
  }
}
