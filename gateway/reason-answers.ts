/**
 * What persons enter and take back, and what is still without a word. One deed at a time: each sees the ones before it committed, so that a
 * double click enters once and nothing is taken back twice. The deed and its audit row are one transaction.
 */
import { createHash } from 'node:crypto';
import { nonscheduled } from '../src/calendar.ts';
import type { ReasonRow, StopsPage } from '../src/contract.ts';
import type { ChamberEvent } from '../src/event.ts';
import { Fault } from '../src/fault.ts';
import { stateIntervals } from '../src/interval.ts';
import { entryOf, firstClick, type ReasonDraft } from '../src/reason-entry.ts';
import { stopsPage } from '../src/stops.ts';
import { LAST_CYCLE_MS } from '../src/window.ts';
import { askedWindow } from './asked-window.ts';
import type { Books } from './books.ts';
import type { Clock } from './clock.ts';
import type { ReasonAnswers, Scope } from './http/answers-port.ts';
import type { Deed } from './pipeline.ts';
import type { Plant } from './plant.ts';
import type { ReasonBook } from './reason-book.ts';
import { turns } from './turns.ts';

type ReasonParts = {
  readonly plant: Plant;
  readonly clock: Clock;
  readonly books: Books;
  readonly reasons: ReasonBook;
  /** Commits and tells. */
  readonly record: (deed: Deed) => Promise<unknown>;
};

export function reasonAnswers(parts: ReasonParts): ReasonAnswers {
  const { plant, clock, reasons } = parts;
  const chambersOf = ({ chamber }: Scope): readonly string[] => (chamber === null ? plant.ids : [plant.chamber(chamber).id]);
  const inTurn = turns();
  return {
    reasonList: () => plant.reasons,
    reasons: async (scope) => {
      const window = askedWindow(scope.window, plant.calendar, clock.now());
      await reasons.settled();
      return reasons.rows(window, chambersOf(scope));
    },
    enterReason: (draft) => inTurn(() => enter(parts, draft)),
    withdrawReason: (entry, by) => inTurn(() => withdraw(parts, entry, by)),
    stops: (scope) => stops(parts, scope, chambersOf(scope)),
  };
}

async function enter(parts: ReasonParts, draft: ReasonDraft): Promise<ReasonRow> {
  const { plant, clock, reasons } = parts;
  const chamber = plant.chamber(draft.chamber).id;
  const now = clock.now();
  const first = firstClick(draft, reasons.effective(chamber), { now, speed: clock.speed });
  if (first !== undefined) return rowOf(reasons, first.entry);
  const entry = entryOf(draft, { entry: entryId(draft, now), now, reasons: plant.reasons });
  return commit(parts, entry, { who: entry.by, deed: 'enter reason', subject: entry.entry });
}

async function withdraw(parts: ReasonParts, entry: string, by: string): Promise<ReasonRow> {
  const known = rowOf(parts.reasons, entry);
  if (known.withdrawnBy !== null) throw new Fault('conflict', `${known.withdrawnBy} took this entry back already.`);
  const fact = { kind: 'reason-withdrawn', chamber: known.chamber, at: parts.clock.now(), entry, by } as const;
  return commit(parts, fact, { who: by, deed: 'withdraw reason', subject: entry });
}

type Told = Extract<ChamberEvent, { kind: 'reason' | 'reason-withdrawn' }>;

async function commit(
  { clock, reasons, record }: ReasonParts,
  fact: Told,
  by: { who: string; deed: string; subject: string },
): Promise<ReasonRow> {
  await record({ events: [fact], audit: [{ at: clock.now(), ...by }] });
  await reasons.settled();
  return rowOf(reasons, fact.entry);
}

function rowOf(reasons: ReasonBook, entry: string): ReasonRow {
  const row = reasons.row(entry);
  if (row === null) throw new Fault('not-found', 'There is no such reason entry. /api/reasons lists them.');
  return row;
}

/** The same words at the same moment have the same id. */
function entryId({ chamber, from, to, state, reason, note, by }: ReasonDraft, now: number): string {
  const words = JSON.stringify([chamber, from, to, state, reason, note, by, now]);
  return createHash('sha256').update(words).digest('hex').slice(0, 16);
}

async function stops({ plant, clock, books }: ReasonParts, scope: Scope, chambers: readonly string[]): Promise<StopsPage> {
  const window = askedWindow(scope.window, plant.calendar, clock.now());
  // A stop is listed whole: looked for a day beyond the window.
  const wide = { from: window.from - LAST_CYCLE_MS, to: Math.min(window.to + LAST_CYCLE_MS, clock.now()) };
  const free = nonscheduled(plant.calendar, wide.from, wide.to);
  const facts = await books.facts(window, chambers);
  return stopsPage(
    facts.map((one) => ({ intervals: stateIntervals(one, wide, free), heardUntil: Math.min(one.heardUntil, wide.to) })),
    window,
  );
}
