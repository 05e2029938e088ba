/** What became of a week's mail, asked and put into words. */
import { weekMail, type WeekMail } from '../src/contract.ts';
import { get } from './api.ts';
import { clock, day } from './format.ts';

export const fetchWeekMail = (week: string): Promise<WeekMail> => get(`/api/weeks/${encodeURIComponent(week)}/mail`, weekMail);

/** One sentence per route; a summary that nobody gets has none. */
export function mailSentences({ letters }: WeekMail, zone: string): string[] {
  return letters.map(({ route, state, deliveredAt, lastError }) => {
    if (state === 'delivered' && deliveredAt !== null)
      return `Mailed ${day(deliveredAt, zone)} ${clock(deliveredAt, zone)} by route ${route}.`;
    const why = lastError === null ? '' : ` ${lastError}`;
    return state === 'dead' ? `Not mailed by route ${route}.${why}` : `On its way by route ${route}.${why}`;
  });
}

/** Facts that came in later change what was mailed: which numbers, and how. */
export const revisedSentence = ({ revised }: WeekMail): string | null =>
  revised.length === 0
    ? null
    : `Revised since it was mailed: ${revised.map(({ name, mailed, now }) => `${name} ${mailed}, now ${now}`).join('; ')}.`;
