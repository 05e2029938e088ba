/**
 * What persons say of a chamber's time, and how it lies over what was observed. Precedence: a person's word first, then nobody's word
 * (unobserved), then the calendar, then the facts; our reading of SEMI E10 practice, common practice, no clause.
 * [RE1] An entry that was taken back counts nowhere, and in which order entries and withdrawals arrive changes nothing.
 * [RE2] Where entries overlap, the one entered later holds; of two entered in the same millisecond the one whose id sorts later.
 * [RE3] An entry without an end ends with the observed state that held when it was entered; unobserved time in between does not end it.
 *       Nothing said once reaches further than 60 days.
 * [RE4] A told span goes before the calendar; one without an end does not, because nobody said that the plant works then.
 * [RE5] Unobserved time stays unobserved whatever is told: a person's word gives a reason, it does not make an observation.
 * [RE6] What was observed stays beside what was told: every told interval carries both, split to the millisecond.
 */
import type { Span } from './calendar.ts';
import type { StateInterval } from './contract.ts';
import type { EquipmentState } from './equipment.ts';
import type { ChamberEvent, EventOf, ReasonEvent } from './event.ts';
import { DAY_MS } from './zone.ts';

/** [RE3] */
export const LONGEST_ENTRY_MS = 60 * DAY_MS;

/** A word with its end found: `to` is `Infinity` while the state it is about still holds. */
export type Told = Span & { readonly entry: ReasonEvent };

type Withdrawn = EventOf<'reason-withdrawn'>;
type Held = { readonly at: number; readonly state: EquipmentState };

/** [RE1] [RE2] The entries that hold, the word that goes before others last. */
export function effectiveEntries(facts: readonly ChamberEvent[]): readonly ReasonEvent[] {
  const withdrawn = new Set(facts.filter((fact): fact is Withdrawn => fact.kind === 'reason-withdrawn').map(({ entry }) => entry));
  return facts.filter((fact): fact is ReasonEvent => fact.kind === 'reason' && !withdrawn.has(fact.entry)).sort(byWord);
}

const byWord = (a: ReasonEvent, b: ReasonEvent): number =>
  a.enteredAt - b.enteredAt || (a.entry < b.entry ? -1 : a.entry > b.entry ? 1 : 0);

/** [RE3] When the observed state that held at `enteredAt` ended, `Infinity` while it holds. `states` ascending, reaching back to it. */
export function openEnd(states: readonly Held[], enteredAt: number): number {
  // Of two facts at the same moment the later committed one holds, and an unobserved hole ends nothing.
  const known = states.filter(({ at, state }, i) => states[i + 1]?.at !== at && state !== 'unobserved');
  const held = known.findLast(({ at }) => at <= enteredAt)?.state;
  return known.find(({ at, state }) => at > enteredAt && state !== held)?.at ?? Infinity;
}

/** [RE3] Entries with their ends; `ends` are those of open entries that `states` do not reach back to. */
export function toldSpans(
  entries: readonly ReasonEvent[],
  states: readonly Held[],
  ends: ReadonlyMap<string, number> = new Map(),
): readonly Told[] {
  return entries.map((entry) => {
    const to = entry.to ?? ends.get(entry.entry) ?? openEnd(states, entry.enteredAt);
    return { entry, from: entry.at, to: Math.min(to, entry.at + LONGEST_ENTRY_MS) };
  });
}

/** [RE4] [RE5] [RE6] Lays what was told over intervals in order; `told` the word that goes before others last. */
export function tellOver(intervals: readonly StateInterval[], told: readonly Told[]): readonly StateInterval[] {
  const [first, last] = [intervals[0], intervals.at(-1)];
  if (first === undefined || last === undefined) return intervals;
  const near = told.filter(({ from, to }) => from < last.to && to > first.from);
  if (near.length === 0) return intervals;
  const all = apart(near);
  const closed = apart(near.filter(({ entry }) => entry.to !== null));
  const out: StateInterval[] = [];
  for (const interval of intervals) {
    if (interval.state === 'unobserved') out.push(interval);
    else lay(interval, interval.state === 'nonscheduled' ? closed : all, out);
  }
  return out;
}

/** [RE2] Without overlaps, in order of time. */
function apart(told: readonly Told[]): readonly Told[] {
  let pieces: Told[] = [];
  for (const next of told) pieces = [...pieces.flatMap((piece) => without(piece, next)), next];
  return pieces.sort((a, b) => a.from - b.from);
}

function without(piece: Told, next: Span): Told[] {
  if (next.from >= piece.to || next.to <= piece.from) return [piece];
  return [
    { ...piece, to: next.from },
    { ...piece, from: next.to },
  ].filter(({ from, to }) => to > from);
}

function lay(interval: StateInterval, pieces: readonly Told[], out: StateInterval[]): void {
  let at = interval.from;
  for (const { entry, from, to } of pieces) {
    if (to <= at) continue;
    if (from >= interval.to) break;
    const [start, end] = [Math.max(at, from), Math.min(to, interval.to)];
    if (start > at) out.push({ ...interval, from: at, to: start });
    out.push(toldInterval(interval, entry, { from: start, to: end }));
    at = end;
  }
  if (at === interval.from) out.push(interval);
  else if (at < interval.to) out.push({ ...interval, from: at });
}

/** [RE6] */
function toldInterval(interval: StateInterval, { entry, state, reason, downtime }: ReasonEvent, span: Span): StateInterval {
  const observed = { state: interval.state, reason: interval.reason };
  return { ...interval, ...span, state, reason, source: 'person', entry, downtime, observed };
}
