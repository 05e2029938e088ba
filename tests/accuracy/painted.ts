/**
 * A chamber's time painted tick by tick, from the events alone: observed states, then the calendar, then what persons said, each over what lies
 * below. Shares no code with src/; shifts come from luxon.
 */
import { DateTime } from 'luxon';
import type { Calendar, Span } from '../../src/calendar.ts';
import type { StoredEvent } from '../../src/event.ts';
import { TICK_MS } from './random-books.ts';

type Of<K extends StoredEvent['kind']> = Extract<StoredEvent, { kind: K }>;
type Cell = {
  readonly state: string;
  readonly reason: string;
  readonly run: string | null;
  readonly person: boolean;
  readonly downtime: string | null;
  /** Reason without any person's word. */
  readonly below: string;
};
const cell = (state: string, reason: string, run: string | null): Cell => ({
  state,
  reason,
  run,
  person: false,
  downtime: null,
  below: reason,
});
const NO_DATA = cell('unobserved', 'no data', null);
const BEFORE = cell('unobserved', 'before the first observation', null);
const FREE = cell('nonscheduled', 'no shift planned', null);

export class Painted {
  readonly from: number;
  readonly cells: Cell[];

  /** Of the span, which is wider than the window. */
  constructor(span: Span) {
    this.from = span.from;
    this.cells = new Array<Cell>((span.to - span.from) / TICK_MS).fill(NO_DATA);
  }

  place(at: number): number {
    return Math.min(this.cells.length, Math.max(0, (at - this.from) / TICK_MS));
  }

  at(time: number): Cell | undefined {
    return this.cells[(time - this.from) / TICK_MS];
  }
}

export function painted(
  chamber: string,
  span: Span,
  books: { events: readonly StoredEvent[]; heardUntil: number; calendar: Calendar },
): Painted {
  const own = books.events.filter((event) => event.chamber === chamber);
  const states = own
    .filter((event): event is Of<'equipment-state'> => event.kind === 'equipment-state')
    .sort((a, b) => a.at - b.at || a.seq - b.seq);
  const canvas = new Painted(span);
  canvas.cells.fill(BEFORE);
  for (const fact of states) canvas.cells.fill(cell(fact.state, fact.reason, fact.run), canvas.place(fact.at));
  canvas.cells.fill(NO_DATA, canvas.place(books.heardUntil));
  if (books.heardUntil <= (states[0]?.at ?? Infinity)) canvas.cells.fill(BEFORE, 0, canvas.place(books.heardUntil));
  paintFree(canvas, span, books.calendar);
  paintTold(canvas, own, states);
  return canvas;
}

function paintFree(canvas: Painted, span: Span, calendar: Calendar): void {
  const planned = new Uint8Array(canvas.cells.length);
  for (const { from, to } of shiftSpans(calendar, span)) planned.fill(1, canvas.place(from), canvas.place(to));
  canvas.cells.forEach(({ state, run }, i) => {
    if (planned[i] === 0 && run === null && state !== 'productive' && state !== 'unobserved') canvas.cells[i] = FREE;
  });
}

export type NamedSpan = Span & { readonly name: string };

/** Every shift that touches the span; a plant without shifts has its whole days, holidays excepted. */
export function shiftSpans({ zone, shifts, holidays }: Calendar, span: Span): readonly NamedSpan[] {
  const found: NamedSpan[] = [];
  let day = DateTime.fromMillis(span.from, { zone }).startOf('day').minus({ days: 2 });
  for (; day.toMillis() < span.to + 86_400_000; day = day.plus({ days: 1 })) {
    if (holidays.some(({ date }) => date === day.toISODate())) continue;
    if (shifts.length === 0)
      found.push({ name: '', from: day.startOf('day').toMillis(), to: day.plus({ days: 1 }).startOf('day').toMillis() });
    for (const { name, days, from, to } of shifts) {
      if (!(days as readonly string[]).includes((day.weekdayShort as string).toLowerCase())) continue;
      const [begin, end] = [clock(day, from), clock(to > from ? day : day.plus({ days: 1 }), to)];
      if (end > span.from && begin < span.to) found.push({ name, from: begin, to: end });
    }
  }
  return found.sort((a, b) => a.from - b.from);
}

function clock(day: DateTime, time: string): number {
  const [hour = 0, minute = 0] = time.split(':').map(Number);
  return day.set({ hour, minute, second: 0, millisecond: 0 }).toMillis();
}

function paintTold(canvas: Painted, own: readonly StoredEvent[], states: readonly Of<'equipment-state'>[]): void {
  const back = new Set(own.flatMap((event) => (event.kind === 'reason-withdrawn' ? [event.entry] : [])));
  const told = own.filter((event): event is Of<'reason'> => event.kind === 'reason' && !back.has(event.entry));
  told.sort((a, b) => a.enteredAt - b.enteredAt || (a.entry < b.entry ? -1 : 1));
  const below = [...canvas.cells];
  for (const entry of told) {
    const to = canvas.place(entry.to ?? endOf(entry, states));
    for (let i = canvas.place(entry.at); i < to; i++) {
      const under = below[i] as Cell;
      if (under.state === 'unobserved' || (under.state === 'nonscheduled' && entry.to === null)) continue;
      canvas.cells[i] = {
        state: entry.state,
        reason: entry.reason,
        run: under.run,
        person: true,
        downtime: entry.downtime,
        below: under.reason,
      };
    }
  }
}

/** Where the state that held when an open entry was made ends. */
function endOf({ enteredAt }: Of<'reason'>, states: readonly Of<'equipment-state'>[]): number {
  let held: string | undefined;
  for (const { at, state } of states) {
    if (state === 'unobserved') continue;
    if (at <= enteredAt) held = state;
    else if (state !== held) return at;
  }
  return Infinity;
}
