/** Addresses, the inbox's order, the day strip. */
import { expect, test } from 'vitest';
import { alert, fleet, trace, chamberDetail } from '../../src/contract.ts';
import { dayStrip } from '../../dashboard/day-strip.ts';
import { inbox, othersWords, usualWords } from '../../dashboard/inbox.ts';
import { addressOf, countWords, NO_SEARCH, searchOf, searchQuery, type RunSearch } from '../../dashboard/run-search.ts';
import { pageOf } from '../../dashboard/page-address.ts';
import { alertsOf, detailOf, fleetOf, tile, traceOf } from '../e2e/fixture-plant.ts';

const NOW = Date.UTC(2026, 10, 25, 9, 48);

test.each([
  ['/', { name: 'wall' }],
  ['/chamber/PC-05', { name: 'chamber', chamber: 'PC-05', at: null }],
  ['/chamber/PC%2F05%20b', { name: 'chamber', chamber: 'PC/05 b', at: null }],
  ['/alerts/', { name: 'alerts', alert: null }],
  ['/alerts/burst%2FPC-05%2F2026-11-25T06%3A00%3A00.000Z', { name: 'alerts', alert: 'burst/PC-05/2026-11-25T06:00:00.000Z' }],
  ['/alerts/burst/PC-05/2026-11-25T06:00:00.000Z', { name: 'alerts', alert: 'burst/PC-05/2026-11-25T06:00:00.000Z' }],
  ['/runs/x', { name: 'unknown' }],
  ['/run/PC-05%2F2026-11-25T06%3A00%3A00.000Z', { name: 'run', run: 'PC-05/2026-11-25T06:00:00.000Z' }],
  ['/run/PC-05/2026-11-25T06:00:00.000Z', { name: 'run', run: 'PC-05/2026-11-25T06:00:00.000Z' }],
  ['/run', { name: 'unknown' }],
  ['/links', { name: 'health' }],
  ['/week', { name: 'week', week: 'current' }],
  ['/week/2026-W48', { name: 'week', week: '2026-W48' }],
  ['/chamber', { name: 'unknown' }],
  ['/week/a/b', { name: 'unknown' }],
  ['/chamber/%E0%A4%A', { name: 'chamber', chamber: '%E0%A4%A', at: null }],
] as const)('the address %s is a page', (path, page) => {
  expect(pageOf(path)).toEqual(page);
});

test('a chamber opens at a moment of the past, and at now for what is no moment', () => {
  expect(pageOf('/chamber/PC-03', '?at=1794942160000')).toEqual({ name: 'chamber', chamber: 'PC-03', at: 1794942160000 });
  for (const search of ['?at=', '?at=yesterday', '?at=-5', '?at=1e9', '?other=1'])
    expect(pageOf('/chamber/PC-03', search)).toMatchObject({ at: null });
});

const [open, closed] = alertsOf(NOW);
const taken = { ...open!, id: 'taken', acknowledgedAt: NOW, startedAt: NOW };
const older = { ...open!, id: 'older', startedAt: 0 };
const missed = { ...closed!, id: 'missed', acknowledgedAt: null, acknowledgedBy: null };
const long = { ...missed, id: 'long ago', startedAt: NOW - 26 * 3_600_000, closedAt: NOW - 25 * 3_600_000 };
const idsOf = (shown: ReturnType<typeof inbox>): string[] => shown.map((one) => one.id);

test('the inbox puts what nobody took first, then what is open, then what is over', () => {
  expect(idsOf(inbox([closed!, taken, older, missed, open!], { show: 'all', named: null, now: NOW }))).toEqual([
    open!.id,
    'older',
    'missed',
    'taken',
    closed!.id,
  ]);
});

test('an alert that closed before anybody acknowledged it stays in the list of what is to do', () => {
  expect(idsOf(inbox([closed!, taken, missed, open!], { show: 'to-do', named: null, now: NOW }))).toEqual([open!.id, 'missed', 'taken']);
});

test('what was over a day ago is history: under all, no longer to do', () => {
  expect(idsOf(inbox([long, missed], { show: 'to-do', named: null, now: NOW }))).toEqual(['missed']);
  expect(idsOf(inbox([long, missed], { show: 'all', named: null, now: NOW }))).toEqual(['missed', 'long ago']);
});

test('the alert that the address names comes first, even when it is over and taken', () => {
  expect(idsOf(inbox([taken, open!], { show: 'to-do', named: closed!, now: NOW }))).toEqual([closed!.id, open!.id, 'taken']);
  expect(idsOf(inbox([taken, open!], { show: 'to-do', named: taken, now: NOW }))).toEqual(['taken', open!.id]);
});

test('without history the inbox says so instead of a number', () => {
  expect(usualWords(open!.alarms!)).toBe('usual here 0.4 in 10 min, unusual from 5 (612 h of history)');
  expect(usualWords(closed!.alarms!)).toContain('not enough history');
});

test('the day strip joins neighbours of one state, keeps holes open and covers 24 h', () => {
  const hour = 3_600_000;
  const interval = (from: number, to: number, state: 'standby' | 'productive'): Parameters<typeof dayStrip>[0][number] => ({
    chamber: 'PC-01',
    from: from * hour,
    to: to * hour,
    state,
    reason: '',
    source: 'tag',
    run: null,
    entry: null,
    downtime: null,
    observed: null,
  });
  const strip = dayStrip(
    [interval(0, 2, 'standby'), interval(2, 3, 'standby'), interval(3, 6, 'productive'), interval(7, 8, 'productive')],
    8 * hour,
    240,
  )!;
  expect(strip.pieces.map((p) => [p.state, p.x, p.width])).toEqual([
    ['standby', 0, 30],
    ['productive', 30, 30],
    ['productive', 70, 10],
  ]);
  expect(strip.hours).toHaveLength(9);
  expect(dayStrip([], 0, 240)).toBeNull();
});

test('what the double of the gateway says is what the wire allows', () => {
  expect(fleet.safeParse(fleetOf(40, NOW, 'x')).error).toBeUndefined();
  expect(chamberDetail.safeParse(detailOf(tile(3, 4, NOW), NOW)).error).toBeUndefined();
  expect(trace.safeParse(traceOf('PC-01', NOW - 1_800_000, NOW)).error).toBeUndefined();
  for (const item of alertsOf(NOW)) expect(alert.safeParse(item).error).toBeUndefined();
});

const ZONE = 'Europe/Berlin';
const asked = (part: Partial<RunSearch>): Record<string, string> =>
  Object.fromEntries(new URLSearchParams(searchQuery({ ...NO_SEARCH, ...part }, ZONE, NOW)));

test('a search for runs lives in the address: what is kept there is the same search again', () => {
  const search = { ...NO_SEARCH, period: 'dates', from: '2026-10-25', to: '2026-10-26', recipe: 'DSM', deviation: 'energy-low' } as const;
  expect(searchOf(addressOf(search))).toEqual(search);
  expect(addressOf(NO_SEARCH)).toBe('');
  expect(searchOf('?outcome=<b>&deviation=nothing&from=then&chamber=PC-01')).toEqual({ ...NO_SEARCH, chamber: 'PC-01' });
});

test('a lot alone is looked for in all of time, and so is one that a link names', () => {
  expect(asked({ period: 'any', load: ' QM-26 ' })).toEqual({ load: 'QM-26' });
  expect(searchOf('?load=QM-26')).toEqual({ ...NO_SEARCH, period: 'any', load: 'QM-26' });
  expect(Object.keys(asked({ period: 'any', recipe: 'DSM' }))).toEqual(['from', 'to', 'recipe']);
});

test('days are days of the site, the last included: the Sunday on which clocks go back has 25 hours', () => {
  const { from, to } = asked({ period: 'dates', from: '2026-10-25', to: '2026-10-25' });
  expect([Number(from), Number(to)]).toEqual([Date.UTC(2026, 9, 24, 22), Date.UTC(2026, 9, 25, 23)]);
});

test('a list that was cut says so instead of giving its length as the number of runs', () => {
  expect(countWords(1, false)).toBe('1 run');
  expect(countWords(200, true)).toBe('the newest 200 runs; there are older ones');
});

test('a burst names the chambers that burst with it, a flood those its alarms came from', () => {
  const [burst, flood] = alertsOf(NOW);
  const nameOf = (chamber: string): string => chamber.toLowerCase();
  expect(othersWords(burst!, nameOf)).toBe('pc-08, pc-11 in the same minutes: look for a common cause');
  expect(othersWords({ ...burst!, together: [] }, nameOf)).toBe('no other chamber at the same time');
  expect(othersWords({ ...flood!, together: ['PC-07', 'PC-08'] }, nameOf)).toBe('pc-07, pc-08');
});
