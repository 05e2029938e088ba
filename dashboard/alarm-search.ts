/** What the alarm page shows: its window, whose alarms, and what of the journal; as the page's own address and as questions to the gateway. */
import { ALARM_STATES, JOURNAL_KINDS, type AlarmState, type JournalKind } from '../src/alarm-answer.ts';
import { ALARM_PRIORITIES, type AlarmPriority } from '../src/equipment.ts';
import { atLocalTime, DAY_MS, localDay, MINUTE_MS, offsetAt, startOfDay } from '../src/zone.ts';

export const WINDOWS = ['shift', 'today', '7 days', 'week', '28 days', 'span'] as const;
export type AlarmWindow = (typeof WINDOWS)[number];

export type AlarmSearch = {
  readonly window: AlarmWindow;
  /** Of a span, epoch ms. */
  readonly from: number | null;
  readonly to: number | null;
  /** A position or a chamber; empty: the first position. */
  readonly of: string;
  readonly words: string;
  readonly priority: '' | AlarmPriority;
  readonly state: '' | AlarmState;
  readonly show: JournalKind;
};
export type Span = { readonly from: number; readonly to: number };

export const NO_ALARM_SEARCH: AlarmSearch = {
  ...{ window: 'today', from: null, to: null, of: '' },
  ...{ words: '', priority: '', state: '', show: 'alarms' },
};
const ROLLING: Partial<Record<AlarmWindow, number>> = { '7 days': 7 * DAY_MS, '28 days': 28 * DAY_MS };
const TIME = /^\d{9,15}$/;

export function alarmSearchOf(address: string): AlarmSearch {
  const asked = new URLSearchParams(address);
  const text = (name: string): string => (asked.get(name) ?? '').slice(0, 80);
  const oneOf = <T extends string>(name: string, known: readonly T[]): T | '' => known.find((one) => one === asked.get(name)) ?? '';
  const time = (name: string): number | null => (TIME.test(text(name)) ? Number(text(name)) : null);
  const [from, to] = [time('from'), time('to')];
  const isSpan = from !== null && to !== null && to > from;
  const named = oneOf('window', WINDOWS);
  return {
    window: isSpan ? 'span' : named === '' || named === 'span' ? NO_ALARM_SEARCH.window : named,
    ...(isSpan ? { from, to } : { from: null, to: null }),
    of: text('of'),
    words: text('words'),
    priority: oneOf('priority', ALARM_PRIORITIES),
    state: oneOf('state', ALARM_STATES),
    show: oneOf('show', JOURNAL_KINDS) || NO_ALARM_SEARCH.show,
  };
}

/** As the page's address keeps it, so that it can be sent to somebody. */
export function alarmAddressOf(search: AlarmSearch): string {
  const kept = Object.entries(search).flatMap(([name, value]): [string, string][] =>
    value === null || value === '' || value === NO_ALARM_SEARCH[name as keyof AlarmSearch] || value === 'span'
      ? []
      : [[name, String(value)]],
  );
  return kept.length === 0 ? '' : `?${new URLSearchParams(kept)}`;
}

/** As the gateway is asked for the window. */
export function windowQuery({ window, from, to }: AlarmSearch, now: number): Record<string, string> {
  if (window === 'span') return { from: String(from), to: String(to) };
  const ms = ROLLING[window];
  return ms === undefined ? { window } : { from: String(Math.floor(now) - ms), to: String(Math.floor(now)) };
}

/** The window of the same kind before or after the one shown, as a span; null for one that begins in the future. */
export function neighbour(search: AlarmSearch, shown: Span, step: -1 | 1, at: { now: number; zone: string; shiftMs: number }): Span | null {
  const span = movedBy(search, shown, step, at);
  return span.from >= at.now ? null : span;
}

function movedBy({ window }: AlarmSearch, { from, to }: Span, step: -1 | 1, { zone, shiftMs }: { zone: string; shiftMs: number }): Span {
  const days = window === 'today' ? 1 : window === 'week' ? 7 : 0;
  const begin = localDay(zone, from) + step * days;
  if (days > 0) return { from: startOfDay(zone, begin), to: startOfDay(zone, begin + days) };
  const ms = window === 'shift' ? shiftMs : to - from;
  return { from: from + step * ms, to: from + (step + 1) * ms };
}

/** As the journal is asked for: of the window shown, one chamber or all. */
/** Whose alarms the journal shows: a chamber's, an operator position's, or all. */
export type JournalOf = { readonly chamber?: string | undefined; readonly position?: string | undefined };

export function journalQuery(search: AlarmSearch, { from, to }: Span, { chamber = '', position = '' }: JournalOf): URLSearchParams {
  const { words, priority, state, show } = search;
  const fields = {
    chamber,
    position: chamber === '' ? position : '',
    words: words.trim(),
    priority,
    state,
    show: show === 'all' ? '' : show,
  };
  const named = Object.entries(fields).filter(([, value]) => value !== '');
  return new URLSearchParams([['from', String(from)], ['to', String(to)], ...named]);
}

/** The same question about what still stands. */
export function standingQuery(journal: string): URLSearchParams {
  const fields = new URLSearchParams(journal);
  fields.set('show', 'standing');
  fields.delete('state');
  return fields;
}

/** For a field of date and time: the site's clock. */
export const localText = (at: number, zone: string): string => new Date(at + offsetAt(zone, at)).toISOString().slice(0, 16);

/** What such a field says, as epoch ms; null for nothing sensible. */
export function localTime(text: string, zone: string): number | null {
  const ms = /^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}$/.test(text) ? Date.parse(`${text}Z`) : NaN;
  if (Number.isNaN(ms)) return null;
  const day = Math.floor(ms / DAY_MS);
  return atLocalTime(zone, day, (ms - day * DAY_MS) / MINUTE_MS);
}
