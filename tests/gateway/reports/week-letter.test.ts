import { describe, expect, test } from 'vitest';
import { calendarWords } from '../../../gateway/reports/place.ts';
import { changedFigures, mainFigures, weekLetterText } from '../../../gateway/reports/week-letter.ts';
import { HOSTILE_TEXTS } from '../hostile-texts.ts';
import { exampleWeek, FROM, PLACE } from './week-fixture.ts';

const page = exampleWeek();
const letter = weekLetterText(page, PLACE, 'https://wall.quellmoor.example/');

describe('the letter of a week', () => {
  test('its subject is the news, its text holds every sentence, the main numbers and the way to the page', () => {
    expect(letter.subject).toBe(
      'Week 2026-W47: 1942 loads, 61 fewer than the median of the 8 weeks before, outside the usual 1960 to 2051.',
    );
    for (const sentence of page.headline) expect(letter.text).toContain(sentence);
    for (const { name, text } of letter.figures) expect(letter.text).toContain(`${name}: ${text}`);
    expect(letter.text).toContain('https://wall.quellmoor.example/week/2026-W47');
    expect(letter.text).toContain('no safety function');
  });

  test('a utilization that may not be stated goes out as bounds', () => {
    const poor = mainFigures(exampleWeek({ coverage: 0.3 }));
    expect(poor.find(({ name }) => name.startsWith('Utilization'))?.text).toMatch(/^\d+–\d+ %$/);
  });

  test.each(HOSTILE_TEXTS.map((text) => [text]))('a hostile text stays text: %j', (text) => {
    const {
      html,
      subject,
      text: plain,
    } = weekLetterText({ ...page, headline: [text, text] }, { ...PLACE, site: text, hall: text }, 'http://127.0.0.1');
    expect(subject).not.toMatch(/[\p{Cc}\u202a-\u202e]/u);
    expect(plain.split('\n').length).toBe(letter.text.split('\n').length - 4);
    const tags = new Set([...html.matchAll(/<\/?([a-z0-9]+)/gi)].map((match) => match[1]?.toLowerCase()));
    expect([...tags].sort()).toEqual(['a', 'body', 'h1', 'html', 'li', 'meta', 'p', 'table', 'td', 'title', 'tr', 'ul']);
  });

  test('only numbers that read otherwise today are revised', () => {
    const mailed = mainFigures(page);
    const now = mailed.map((figure) => (figure.name === 'Loads' ? { ...figure, text: '1740' } : figure));
    expect(changedFigures(mailed, mailed)).toEqual([]);
    expect(changedFigures(mailed, now)).toEqual([{ name: 'Loads', mailed: '1738', now: '1740' }]);
    // A number that the letter did not have yet is no revision.
    expect(changedFigures([], now)).toEqual([]);
  });
});

describe('the calendar in words', () => {
  const shift = (name: string) => ({ name, days: ['mon'] as const, from: '06:00', to: '14:00' });
  const week = { from: FROM, to: FROM + 168 * 3_600_000 };
  const words = (shifts: string[], holidays: { date: string; name: string }[]): string =>
    calendarWords({ zone: 'Europe/Berlin', shifts: shifts.map(shift), holidays }, week);

  test('names each shift once and the holidays of the week', () => {
    const holidays = [
      { date: '2026-11-15', name: 'before' },
      { date: '2026-11-16', name: 'Monday' },
      { date: '2026-11-22', name: 'Sunday' },
      { date: '2026-11-23', name: 'after' },
    ];
    expect(words(['Early', 'Late', 'Early'], holidays)).toBe('shifts Early, Late; Monday 2026-11-16, Sunday 2026-11-22');
    expect(words([], [])).toBe('every hour is scheduled; no holiday');
  });
});
