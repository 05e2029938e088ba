/** What a search for runs asks for: as fields of the page, as the page's own address, and as a question to the gateway. */
import type { RunRow } from '../src/contract.ts';
import { RUN_OUTCOMES } from '../src/equipment.ts';
import { DEVIATIONS, type DeviationCode } from '../src/run-facts.ts';
import { DAY_MS, startOfDay } from '../src/zone.ts';
import { count } from './format.ts';

const PERIODS = ['today', 'week', 'any', 'dates'] as const;
export type Period = (typeof PERIODS)[number];

/** Empty text asks for nothing. Dates are days of the site, both included. */
export type RunSearch = {
  readonly period: Period;
  readonly from: string;
  readonly to: string;
  readonly load: string;
  readonly recipe: string;
  readonly chamber: string;
  readonly outcome: '' | RunRow['outcome'];
  readonly deviation: '' | DeviationCode | 'any' | 'none';
};

export const NO_SEARCH: RunSearch = { period: 'today', from: '', to: '', load: '', recipe: '', chamber: '', outcome: '', deviation: '' };

const FIELDS = ['load', 'recipe', 'chamber', 'outcome', 'deviation'] as const;
const DATE = /^\d{4}-\d{2}-\d{2}$/;
/** The gateway answers at most 400 days at once; a lot is looked for in all of time. */
const LONG_AGO_MS = 399 * DAY_MS;

/** As the page's address keeps it, so that a search can be sent to somebody. */
export function addressOf(search: RunSearch): string {
  const kept = Object.entries(search).filter(([name, value]) => value !== '' && value !== NO_SEARCH[name as keyof RunSearch]);
  return kept.length === 0 ? '' : `?${new URLSearchParams(kept)}`;
}

/** What of an address is a search; the rest is left out. A lot alone is looked for at any time. */
export function searchOf(address: string): RunSearch {
  const asked = new URLSearchParams(address);
  const text = (name: string): string => (asked.get(name) ?? '').slice(0, 80);
  const oneOf = <T extends string>(name: string, known: readonly T[]): T | '' => known.find((one) => one === asked.get(name)) ?? '';
  const search = {
    period: oneOf('period', PERIODS) || (asked.has('load') ? 'any' : 'today'),
    from: DATE.test(text('from')) ? text('from') : '',
    to: DATE.test(text('to')) ? text('to') : '',
    load: text('load'),
    recipe: text('recipe'),
    chamber: text('chamber'),
    outcome: oneOf('outcome', RUN_OUTCOMES),
    deviation: oneOf('deviation', [...DEVIATIONS, 'any', 'none'] as const),
  } as const;
  return search;
}

/** As the gateway is asked. */
export function searchQuery(search: RunSearch, zone: string, now = Date.now()): string {
  const fields = FIELDS.flatMap((name) => (search[name].trim() === '' ? [] : [[name, search[name].trim()] as [string, string]]));
  return new URLSearchParams([...windowFields(search, zone, now), ...fields]).toString();
}

function windowFields({ period, from, to, load }: RunSearch, zone: string, now: number): [string, string][] {
  if (period === 'today' || period === 'week') return [['window', period]];
  const isLotAlone = period === 'any' && load.trim() !== '';
  if (isLotAlone) return [];
  const begin = (period === 'dates' && localMidnight(from, 0, zone)) || now - LONG_AGO_MS;
  const end = (period === 'dates' && localMidnight(to, 1, zone)) || now + DAY_MS;
  return [
    ['from', String(Math.max(begin, end - LONG_AGO_MS))],
    ['to', String(Math.max(end, begin + 1))],
  ];
}

/** Begin of the site's day so many days after that date; null for no date. */
function localMidnight(date: string, daysAfter: number, zone: string): number | null {
  const day = DATE.test(date) ? Date.parse(`${date}T00:00:00Z`) / DAY_MS : NaN;
  return Number.isNaN(day) ? null : startOfDay(zone, day + daysAfter);
}

/** How many runs stand on the page, and whether there are more. */
export const countWords = (shown: number, more: boolean): string =>
  more ? `the newest ${count(shown, 'run')}; there are older ones` : count(shown, 'run');
