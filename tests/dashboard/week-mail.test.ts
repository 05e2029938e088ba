import { describe, expect, test } from 'vitest';
import { mailSentences, revisedSentence } from '../../dashboard/week-mail.ts';
import { exampleLetter } from '../gateway/wire-examples.ts';

const AT = Date.parse('2026-11-23T05:30:00Z');
const say = (change: Parameters<typeof exampleLetter>[1]) =>
  mailSentences({ letters: [exampleLetter('2026-W47', change)], revised: [] }, 'Europe/Berlin');

describe('what the week page says of its mail', () => {
  test('when it went out, that it is on its way, or why it never will', () => {
    expect(say({ state: 'delivered', deliveredAt: AT })).toEqual(['Mailed Mon 23 Nov 06:30 by route managers.']);
    expect(say({ lastError: 'The mail server said 451.' })).toEqual(['On its way by route managers. The mail server said 451.']);
    expect(say({ state: 'dead', lastError: 'No.' })).toEqual(['Not mailed by route managers. No.']);
    expect(mailSentences({ letters: [], revised: [] }, 'Europe/Berlin')).toEqual([]);
  });

  test('which numbers read otherwise than they were mailed', () => {
    expect(revisedSentence({ letters: [], revised: [] })).toBeNull();
    expect(revisedSentence({ letters: [], revised: [{ name: 'Loads', mailed: '1738', now: '1740' }] })).toBe(
      'Revised since it was mailed: Loads 1738, now 1740.',
    );
  });
});
