/** Addresses, the inbox's order, the day strip. */
import { expect, test } from 'vitest';
import { alert, fleet, trace, chamberDetail } from '../../src/contract.ts';
import { dayStrip } from '../../dashboard/day-strip.ts';
import { inboxOrder, othersWords, usualWords } from '../../dashboard/inbox.ts';
import { findRuns } from '../../dashboard/run-search.ts';
import { pageOf } from '../../dashboard/page-address.ts';
import { alertsOf, detailOf, fleetOf, runsOf, tile, traceOf } from '../e2e/fixture-plant.ts';

const NOW = Date.UTC(2026, 10, 25, 9, 48);

test.each([
  ['/', { name: 'wall' }],
  ['/chamber/PC-05', { name: 'chamber', chamber: 'PC-05' }],
  ['/chamber/PC%2F05%20b', { name: 'chamber', chamber: 'PC/05 b' }],
  ['/alerts/', { name: 'alerts' }],
  ['/week', { name: 'week', week: 'current' }],
  ['/week/2026-W48', { name: 'week', week: '2026-W48' }],
  ['/chamber', { name: 'unknown' }],
  ['/week/a/b', { name: 'unknown' }],
  ['/chamber/%E0%A4%A', { name: 'chamber', chamber: '%E0%A4%A' }],
] as const)('the address %s is a page', (path, page) => {
  expect(pageOf(path)).toEqual(page);
});

test('the inbox puts what nobody took first, then what is open, then what is over', () => {
  const [open, closed] = alertsOf(NOW);
  const taken = { ...open!, id: 'taken', acknowledgedAt: NOW, startedAt: NOW };
  const older = { ...open!, id: 'older', startedAt: 0 };
  expect(inboxOrder([closed!, taken, older, open!]).map((a) => a.id)).toEqual([open!.id, 'older', 'taken', closed!.id]);
});

test('without history the inbox says so instead of a number', () => {
  const [open, closed] = alertsOf(NOW);
  expect(usualWords(open!)).toBe('usual here 0.4 in 10 min, unusual from 5 (612 h of history)');
  expect(usualWords(closed!)).toContain('not enough history');
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

test('runs are found by every word typed, in any order, by the name of the chamber too', () => {
  const runs = runsOf(tile(4, 4, NOW), NOW);
  const nameOf = (): string => 'Etcher five';
  expect(findRuns(runs, '', nameOf)).toHaveLength(8);
  expect(findRuns(runs, 'ABORTED five', nameOf)).toHaveLength(1);
  expect(findRuns(runs, 'qm-26-04120 dsm', nameOf)).toHaveLength(1);
  expect(findRuns(runs, 'aborted dsm', nameOf)).toHaveLength(0);
});

test('a burst names the chambers that burst with it, a flood those its alarms came from', () => {
  const [burst, flood] = alertsOf(NOW);
  const nameOf = (chamber: string): string => chamber.toLowerCase();
  expect(othersWords(burst!, nameOf)).toBe('pc-08, pc-11 in the same minutes: look for a common cause');
  expect(othersWords({ ...burst!, together: [] }, nameOf)).toBe('no other chamber at the same time');
  expect(othersWords({ ...flood!, together: ['PC-07', 'PC-08'] }, nameOf)).toBe('pc-07, pc-08');
});
