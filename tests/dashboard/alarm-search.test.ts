import { describe, expect, test } from 'vitest';
import {
  alarmAddressOf,
  alarmSearchOf,
  journalQuery,
  localText,
  localTime,
  neighbour,
  NO_ALARM_SEARCH,
  windowQuery,
} from '../../dashboard/alarm-search.ts';

const [HOUR, DAY] = [3_600_000, 86_400_000];
const ZONE = 'Europe/Berlin';
const NOW = Date.UTC(2026, 10, 25, 9, 30);

describe('what the alarm page shows', () => {
  test('is kept by the address and read back from it; what is no such thing is left out', () => {
    const search = {
      ...NO_ALARM_SEARCH,
      window: '28 days',
      of: 'wet bench/west',
      words: 'rf trip',
      priority: 'high',
      state: 'B/C',
      show: 'shelved',
    } as const;
    expect(alarmSearchOf(alarmAddressOf(search))).toEqual(search);
    expect(alarmAddressOf(NO_ALARM_SEARCH)).toBe('');
    expect(alarmSearchOf('?window=year&priority=urgent&state=Z&show=none&from=1&to=2')).toEqual(NO_ALARM_SEARCH);
    const span = alarmSearchOf(`?from=${NOW - DAY}&to=${NOW}`);
    expect([span.window, alarmSearchOf(alarmAddressOf(span))]).toEqual(['span', span]);
    expect(alarmSearchOf(`?from=${NOW}&to=${NOW - DAY}`)).toEqual(NO_ALARM_SEARCH);
  });

  test('is asked of the gateway by the name of its window, or from and to', () => {
    expect(windowQuery({ ...NO_ALARM_SEARCH, window: 'shift' }, NOW)).toEqual({ window: 'shift' });
    expect(windowQuery({ ...NO_ALARM_SEARCH, window: '7 days' }, NOW)).toEqual({ from: String(NOW - 7 * DAY), to: String(NOW) });
    expect(windowQuery({ ...NO_ALARM_SEARCH, window: 'span', from: 5, to: 9 }, NOW)).toEqual({ from: '5', to: '9' });
    const journal = journalQuery({ ...NO_ALARM_SEARCH, words: ' rf ' }, { from: 5, to: 9 }, { chamber: 'PC-01', position: 'Desk' });
    expect(journal.toString()).toBe('from=5&to=9&chamber=PC-01&words=rf&show=alarms');
    const desk = journalQuery(NO_ALARM_SEARCH, { from: 5, to: 9 }, { position: 'Drill desk' });
    expect(desk.toString()).toBe('from=5&to=9&position=Drill+desk&show=alarms');
  });

  test('steps to the window before by the calendar of the site, also over the end of summer time, and not into the future', () => {
    const at = { now: NOW, zone: ZONE, shiftMs: 8 * HOUR };
    // Monday 26 October 2026 in Berlin; the Sunday before has 25 hours.
    const monday = { from: Date.UTC(2026, 9, 25, 23), to: Date.UTC(2026, 9, 26, 23) };
    expect(neighbour({ ...NO_ALARM_SEARCH, window: 'today' }, monday, -1, at)).toEqual({
      from: Date.UTC(2026, 9, 24, 22),
      to: monday.from,
    });
    expect(neighbour({ ...NO_ALARM_SEARCH, window: 'week' }, monday, -1, at)).toEqual({ from: Date.UTC(2026, 9, 18, 22), to: monday.from });
    // A shift that is half over: the one before is whole.
    const shift = { from: NOW - 3 * HOUR, to: NOW };
    expect(neighbour({ ...NO_ALARM_SEARCH, window: 'shift' }, shift, -1, at)).toEqual({ from: NOW - 11 * HOUR, to: NOW - 3 * HOUR });
    const span = { from: NOW - 2 * DAY, to: NOW - DAY };
    expect(neighbour({ ...NO_ALARM_SEARCH, window: 'span' }, span, 1, at)).toEqual({ from: NOW - DAY, to: NOW });
    expect(neighbour({ ...NO_ALARM_SEARCH, window: 'span' }, { from: NOW - DAY, to: NOW }, 1, at)).toBeNull();
  });

  test('takes dates and times by the clock of the site, there and back', () => {
    expect(localText(NOW, ZONE)).toBe('2026-11-25T10:30');
    expect(localTime('2026-11-25T10:30', ZONE)).toBe(NOW);
    expect([localTime('', ZONE), localTime('yesterday', ZONE)]).toEqual([null, null]);
  });
});
