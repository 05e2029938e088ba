/**
 * The alarm journal: each activation and what became of it, through the states of ISA-18.2 (letters from memory, names known second-hand).
 * [AJ1] Active and acknowledged are two facts, and the letter follows: A normal, B unacknowledged, C acknowledged, D returned to normal
 *       unacknowledged. Only an alarm's last activation can be in B, C or D; what a later one followed is over.
 * [AJ2] Where the machine tells no acknowledgement, it is not told: no time and no zero. The alarm stands as `B/C` and returns to A.
 * [AJ3] An acknowledgement belongs to the last activation before it, also after the alarm cleared. An activation followed by the next before
 *       anybody acknowledged it never was.
 * [AJ4] The first-out is the alarm that began an episode of one chamber: going back from an activation as long as neighbours are less than a
 *       minute apart, an hour at most. Activations of an alarm that came within the minute before are repeats and neither begin nor carry on
 *       an episode; nor do notices, suppressed alarms and alarms found standing. (Own rule.)
 * [AJ5] Shelved, suppressed and out of service are one word of the machine, told with the activation; they are told apart from the states and
 *       stay out of the rates.
 * [AJ6] Words are searched in chamber, code and text, small and capital letters alike; each word must be found.
 */
import { isActivation } from './activation.ts';
import type { AlarmState, JournalKind, JournalRow } from './alarm-answer.ts';
import type { AlarmPriority } from './equipment.ts';
import type { AlarmFact } from './facts.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

/** Alarms this close belong to one episode, and an alarm that comes back this soon is a repeat. */
const CLOSE_MS = MINUTE_MS;
/** How far back from a row its episode is looked for, and what must be known before the first row. */
export const EPISODE_MS = HOUR_MS;
export const KNOWN_BEFORE_MS = EPISODE_MS + CLOSE_MS;

/** What happened next to an alarm, seen from before. */
export type Next = { readonly activatedAt: number | null; readonly clearedAt: number | null; readonly acknowledgedAt: number | null };
/** By chamber and code. */
export type Nexts = ReadonlyMap<string, Next>;
const NOTHING: Next = { activatedAt: null, clearedAt: null, acknowledgedAt: null };

export const alarmKey = ({ chamber, code }: { readonly chamber: string; readonly code: string }): string => JSON.stringify([chamber, code]);

/** [AJ3] What is next before a fact, from what is next after it. */
export function nextBefore(fact: AlarmFact, next: Next = NOTHING): Next {
  if (fact.change === 'cleared') return { ...next, clearedAt: fact.at };
  if (fact.change === 'acknowledged') return { ...next, acknowledgedAt: fact.at };
  return { ...next, activatedAt: fact.at, acknowledgedAt: null };
}

/** `tells`: whether the machine tells acknowledgements of this alarm. */
export type Known = { readonly tells: boolean; readonly firstOut: JournalRow['firstOut'] };

/** [AJ1]-[AJ3] [AJ5] */
export function journalRowOf(fact: AlarmFact, next: Next = NOTHING, { tells, firstOut }: Known): JournalRow {
  const { kind: _kind, change: _change, ...row } = fact;
  const { clearedAt, acknowledgedAt } = next;
  return {
    ...row,
    clearedAt,
    standingMs: clearedAt === null ? null : clearedAt - fact.at,
    state: stateOf(next, tells),
    acknowledgement: acknowledgementOf(next, tells),
    acknowledgedAt,
    acknowledgeMs: acknowledgedAt === null ? null : acknowledgedAt - fact.at,
    firstOut,
  };
}

/** [AJ1] [AJ2] */
function stateOf({ activatedAt, clearedAt, acknowledgedAt }: Next, tells: boolean): AlarmState {
  if (activatedAt !== null) return 'A';
  if (acknowledgedAt !== null) return clearedAt === null ? 'C' : 'A';
  if (clearedAt === null) return tells ? 'B' : 'B/C';
  return tells ? 'D' : 'A';
}

/** [AJ2] [AJ3] */
function acknowledgementOf({ activatedAt, acknowledgedAt }: Next, tells: boolean): JournalRow['acknowledgement'] {
  if (acknowledgedAt !== null) return 'acknowledged';
  if (!tells) return 'not told';
  return activatedAt === null ? 'awaited' : 'never';
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

/** [AJ5] */
function isOfKind({ counted, suppressed, notice }: JournalRow, show: JournalKind): boolean {
  switch (show) {
    case 'all':
      return true;
    case 'counted':
      return counted && !suppressed && !notice;
    case 'suppressed':
      return suppressed;
    case 'notices':
      return notice;
    case 'found standing':
      return !counted && !notice;
  }
}
