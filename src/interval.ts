/**
 * Equipment time as a partition: every millisecond of a window belongs to exactly one state.
 * [IV1] A state holds from its fact until the chamber's next state fact.
 * [IV2] Time before the chamber's first fact, and after the last word from it, is unobserved: never idle.
 * [IV3] Nonscheduled time comes from the calendar and replaces what the chamber did, except time with a run in progress, productive time
 *       and unobserved time (a run outside the calendar is production nobody planned, and is shown as such).
 * [IV4] The intervals of a chamber follow one another without gap or overlap and sum to the window exactly, in whole milliseconds.
 * [IV5] What a person told lies over facts and calendar, by the rules of reason.ts.
 * Rule of precedence: our reading of SEMI E10 practice, common practice, no clause.
 */
import type { Span } from './calendar.ts';
import type { StateInterval } from './contract.ts';
import { type ChamberFacts, firstAt, type StateFact } from './facts.ts';
import { tellOver } from './reason.ts';

/** Reason of the time before a chamber's first fact. */
export const BEFORE_FIRST = 'before the first observation';

const NOT_TOLD = { entry: null, downtime: null, observed: null };

/** [IV1]-[IV5] One chamber's window as intervals. `free` are the calendar's nonscheduled spans, in order. */
export function stateIntervals(facts: ChamberFacts, window: Span, free: readonly Span[]): readonly StateInterval[] {
  const out: StateInterval[] = [];
  let first = 0;
  for (const interval of observedIntervals(facts, window)) {
    while (first < free.length && (free[first] as Span).to <= interval.from) first++;
    if (isOverlaid(interval)) overlay(interval, { free, first }, out);
    else out.push(interval);
  }
  return tellOver(out, facts.told);
}

/** [IV1] [IV2] The window by the chamber's own facts, calendar not yet laid over. */
function observedIntervals(facts: ChamberFacts, { from, to }: Span): readonly StateInterval[] {
  const out: StateInterval[] = [];
  const push = (next: StateInterval): void => {
    if (next.to > next.from) out.push(next);
  };
  const { chamber, states } = facts;
  const heard = Math.min(Math.max(facts.heardUntil, from), to);
  let index = firstAt(states, from + 1) - 1;
  let at = from;
  if (index < 0) {
    at = Math.min(states[0]?.at ?? heard, heard);
    push(unobserved(chamber, from, at, BEFORE_FIRST));
    index = 0;
  }
  for (; index < states.length && at < heard; index++) {
    const end = Math.min(states[index + 1]?.at ?? heard, heard);
    push(held(states[index] as StateFact, at, end));
    at = Math.max(at, end);
  }
  push(unobserved(chamber, Math.max(at, from), to, 'no data'));
  return out;
}

function held(fact: StateFact, from: number, to: number): StateInterval {
  const { chamber, state, reason, source, run } = fact;
  return { chamber, from, to, state, reason, source, run, ...NOT_TOLD };
}

function unobserved(chamber: string, from: number, to: number, reason: string): StateInterval {
  return { chamber, from, to, state: 'unobserved', reason, source: 'gap', run: null, ...NOT_TOLD };
}

/** [IV3] Whether the calendar goes before what the chamber did. */
function isOverlaid(interval: StateInterval): boolean {
  return interval.run === null && interval.state !== 'productive' && interval.state !== 'unobserved';
}

/** `first`: of the free spans the first that may reach into it. */
type Free = { readonly free: readonly Span[]; readonly first: number };

function overlay(interval: StateInterval, { free, first }: Free, out: StateInterval[]): void {
  let at = interval.from;
  for (let i = first; i < free.length; i++) {
    const span = free[i] as Span;
    if (span.from >= interval.to) break;
    const [start, end] = [Math.max(at, span.from), Math.min(span.to, interval.to)];
    if (start > at) out.push({ ...interval, from: at, to: start });
    out.push({
      chamber: interval.chamber,
      from: start,
      to: end,
      state: 'nonscheduled',
      reason: 'no shift planned',
      source: 'inferred',
      run: null,
      ...NOT_TOLD,
    });
    at = end;
  }
  if (at === interval.from) out.push(interval);
  else if (at < interval.to) out.push({ ...interval, from: at });
}
