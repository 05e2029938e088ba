import { expect, test } from 'vitest';
import { dayStrip, pieceAt, stretches, type DayStrip } from '../../dashboard/day-strip.ts';
import { pageOf } from '../../dashboard/page-address.ts';
import { isTold, reasonGroups, spanOf, stopLines, stopsOf, stopSpan } from '../../dashboard/telling.ts';
import type { ReasonRow, StateInterval, Stop } from '../../src/contract.ts';
import { DEFAULT_REASONS } from '../../src/reason-list.ts';
import { face } from '../../dashboard/tile-face.ts';
import { tile } from '../e2e/fixture-plant.ts';

const MIN = 60_000;
const HOUR = 60 * MIN;
const piece = (
  from: number,
  to: number,
  state: StateInterval['state'],
  reason: string,
  change: Partial<StateInterval> = {},
): StateInterval => ({
  chamber: 'PC-01',
  from: from * MIN,
  to: to * MIN,
  state,
  reason,
  source: 'tag',
  run: null,
  entry: null,
  downtime: null,
  observed: null,
  ...change,
});
const told = (from: number, to: number, observed: string): StateInterval =>
  piece(from, to, 'unscheduled-downtime', 'repair', { entry: 'e1', observed: { state: 'unscheduled-downtime', reason: observed } });

const DAY = [
  piece(0, 60, 'standby', 'idle'),
  piece(60, 70, 'unscheduled-downtime', 'tripped: RF'),
  told(70, 80, 'tripped: RF'),
  told(80, 100, 'repair: RF'),
  piece(100, 100.5, 'unscheduled-downtime', 'x'),
  piece(100.5, 200, 'productive', 'run'),
];

test('neighbours of one state and one entry are one stretch, with all that was observed under it', () => {
  expect(stretches(DAY).map(({ from, to, entry, observed }) => [from / MIN, to / MIN, entry, observed.reasons])).toEqual([
    [0, 60, null, ['idle']],
    [60, 70, null, ['tripped: RF']],
    [70, 100, 'e1', ['tripped: RF', 'repair: RF']],
    [100, 100.5, null, ['x']],
    [100.5, 200, null, ['run']],
  ]);
  expect([isTold(DAY), isTold(DAY.slice(0, 2))]).toEqual([true, false]);
});

test('stops of the day are listed newest first, told or not, not those of a minute', () => {
  expect(stopsOf(stretches(DAY)).map(({ from }) => from / MIN)).toEqual([70, 60]);
  const called = [piece(0, 9, 'standby', 'no operator', { entry: 'e', observed: { state: 'unscheduled-downtime', reason: 'x' } })];
  expect(stopsOf(stretches(called))).toHaveLength(1);
});

test('the reasons of the observed state come first, and no state without reasons is shown', () => {
  expect(
    reasonGroups(
      DEFAULT_REASONS.map((r) => ({ ...r, workedOn: [...r.workedOn] })),
      'standby',
    ).map(({ state }) => state),
  ).toEqual(['standby', 'unscheduled-downtime', 'scheduled-downtime', 'engineering', 'productive']);
  expect(reasonGroups([], 'standby')).toEqual([]);
});

test('a word is said of the whole stop, also of its part before midnight, and has no end while it goes on', () => {
  const stop: Stop = { chamber: 'PC-01', from: -90 * MIN, to: 60 * MIN, isOn: false, downMs: 150 * MIN, reasons: ['x'] };
  const [first, second] = stretches([piece(0, 60, 'unscheduled-downtime', 'x'), piece(60, 80, 'standby', 'idle')]);
  expect(spanOf('PC-01', first!, { end: 80 * MIN, stops: [stop] })).toMatchObject({ from: -90 * MIN, to: 60 * MIN, isOn: false });
  expect(spanOf('PC-02', first!, { end: 80 * MIN, stops: [stop] }).from).toBe(0);
  expect(spanOf('PC-01', second!, { end: 80 * MIN, stops: [] })).toMatchObject({ isOn: true, observed: 'Standby: idle' });
  const [lost] = stretches([piece(0, 60, 'unobserved', 'no data')]);
  expect(spanOf('PC-01', lost!, { end: 60 * MIN, stops: [] }).isOn).toBe(false);
  expect(stopSpan(stop)).toMatchObject({ from: -90 * MIN, observed: 'Unscheduled downtime: x', entry: null });
});

test('a click means the piece under it, and a slim one from nearby', () => {
  const strip = dayStrip(
    [piece(0, 600, 'standby', 'idle'), piece(600, 601, 'unscheduled-downtime', 'x'), piece(601, 1440, 'productive', 'run')],
    1440 * MIN,
    1000,
  ) as DayStrip;
  const at = (x: number): number => pieceAt(strip, x, 720);
  // 720 px for 24 h: half a pixel a minute, the slim piece lies at 300 px.
  expect([at(0), at(290), at(295), at(300), at(305), at(310), at(719)]).toEqual([0, 0, 1, 1, 1, 2, 2]);
  expect(at(720)).toBe(-1);
});

test('what a person told is what the tile says; where nobody runs it, productive is not called running', () => {
  const now = Date.UTC(2026, 10, 25, 9, 48);
  const view = { now, zone: 'Europe/Berlin', speed: 1 };
  const word = { entry: 'e', by: 'A', observed: { state: 'standby', reason: 'idle' } } as const;
  const base = { ...tile(0, 4, now), told: word, run: null, waitingSince: null, need: null, stateSince: now - HOUR };
  expect(face({ ...base, state: 'scheduled-downtime', reason: 'cleaning' }, view)).toMatchObject({
    word: 'MAINTENANCE',
    detail: 'cleaning',
  });
  expect(face({ ...base, state: 'standby', reason: 'no operator' }, view)).toMatchObject({ detail: 'no operator' });
  expect(face({ ...base, state: 'productive', reason: 'rework' }, view)).toMatchObject({ word: 'PRODUCTIVE', detail: 'rework' });
  expect(face({ ...base, state: 'productive', reason: 'rework', link: 'silent' }, view)).toMatchObject({ word: 'NO DATA' });
});

test('the list of stops has an address of its own', () => {
  expect(pageOf('/stops')).toEqual({ name: 'stops' });
  expect(pageOf('/stops/today')).toEqual({ name: 'unknown' });
});

test('a stop told on the page keeps its place in the list while its entry stands', () => {
  const stop = (from: number, chamber = 'PC-01'): Stop => ({ chamber, from, to: from + HOUR, isOn: false, downMs: HOUR, reasons: ['x'] });
  const row = { entry: 'e1', chamber: 'PC-01', from: 2 * HOUR } as ReasonRow;
  const [late, middle, early] = [stop(4 * HOUR), stop(2 * HOUR), stop(0)];
  const justTold = new Map([['e1', middle]]);
  const open = (one: Stop) => ({ stop: one, row: null });
  expect(stopLines([late, early], [row], justTold)).toEqual([open(late), { stop: middle, row }, open(early)]);
  // Told but not read anew yet: once, as told.
  expect(stopLines([late, middle, early], [row], justTold)).toEqual([open(late), { stop: middle, row }, open(early)]);
  expect(stopLines([late, middle, early], [], justTold)).toEqual([late, middle, early].map(open));
});
