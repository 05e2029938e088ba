/** What a report must know of the plant beside its numbers. */
import type { Calendar, Span } from '../../src/calendar.ts';
import type { PaperSize } from './sheet.ts';

export type ReportPlace = {
  readonly site: string;
  readonly hall: string;
  readonly zone: string;
  readonly units: { readonly pressure: string; readonly flow: string };
  readonly paper: PaperSize;
  /** What the plant calls a chamber. */
  readonly nameOf: (chamber: string) => string;
  /** Of the program, whose definitions the numbers follow. */
  readonly version: string;
  /** The calendar in words: shifts and holidays that were laid over the week. */
  readonly calendar: string;
};

export const NO_SAFETY_FUNCTION = 'Information only: Glowfleet watches and reports, commands nothing and is no safety function.';

/** The shifts by name and the holidays of the week. */
export function calendarWords({ shifts, holidays, zone }: Calendar, { from, to }: Span): string {
  const names = [...new Set(shifts.map(({ name }) => name))];
  const days = holidays.filter(({ date }) => date >= isoDate(from, zone) && date <= isoDate(to - 1, zone));
  const worked =
    names.length === 0 ? 'every hour is scheduled' : `shifts ${names.slice(0, 6).join(', ')}${names.length > 6 ? ' and others' : ''}`;
  return `${worked}; ${days.length === 0 ? 'no holiday' : days.map(({ date, name }) => `${name} ${date}`).join(', ')}`;
}

const isoDate = (at: number, zone: string): string => new Intl.DateTimeFormat('sv-SE', { timeZone: zone }).format(at);
