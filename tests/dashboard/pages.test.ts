/** Addresses, the inbox's order, the day strip. */
import { expect, test } from 'vitest';
import { alertEvidence, inboxAlert } from '../../src/alert-inbox.ts';
import { alertNews, fleet, trace, chamberDetail } from '../../src/contract.ts';
import { dayStrip } from '../../dashboard/day-strip.ts';
import { addressOf, countWords, NO_SEARCH, searchOf, searchQuery, type RunSearch } from '../../dashboard/run-search.ts';
import { pageOf } from '../../dashboard/page-address.ts';
import { mockInbox } from '../e2e/fixture-inbox.ts';
import { detailOf, fleetOf, tile, traceOf } from '../e2e/fixture-plant.ts';

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
  const inbox = mockInbox(() => NOW);
  for (const row of inbox.rows(new URLSearchParams())) {
    expect(inboxAlert.safeParse(row).error).toBeUndefined();
    expect(alertEvidence.safeParse(inbox.evidence(row.id)).error).toBeUndefined();
  }
  expect(alertNews.safeParse(inbox.news()).error).toBeUndefined();
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
