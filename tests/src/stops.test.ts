import { describe, expect, test } from 'vitest';
import { stopsPage as shape, type StateInterval } from '../../src/contract.ts';
import { stopsPage, untoldStops } from '../../src/stops.ts';
import { random } from './random-history.ts';

const MIN = 60_000;
const piece = (from: number, to: number, state: StateInterval['state'], change: Partial<StateInterval> = {}): StateInterval => ({
  chamber: 'PC-01',
  from: from * MIN,
  to: to * MIN,
  state,
  reason: 'tripped: RF_FAULT',
  source: 'tag',
  run: null,
  entry: null,
  downtime: null,
  observed: null,
  ...change,
});
const down = (from: number, to: number, change: Partial<StateInterval> = {}): StateInterval =>
  piece(from, to, 'unscheduled-downtime', change);
const told = (from: number, to: number): StateInterval => down(from, to, { entry: 'e1', source: 'person', reason: 'repair' });
const spans = (intervals: StateInterval[], until = 1000): [number, number][] =>
  untoldStops(intervals, until * MIN).map(({ from, to }) => [from / MIN, to / MIN]);

describe('stops without a word', () => {
  test('[SP1] a stop runs through its sub-reasons; nonscheduled, unobserved and told time break it', () => {
    expect(
      untoldStops([piece(0, 5, 'standby'), down(5, 8), down(8, 20, { reason: 'repair' }), piece(20, 30, 'standby')], 1000 * MIN),
    ).toEqual([{ chamber: 'PC-01', from: 5 * MIN, to: 20 * MIN, isOn: false, downMs: 15 * MIN, reasons: ['tripped: RF_FAULT', 'repair'] }]);
    expect(spans([down(0, 5), piece(5, 9, 'nonscheduled'), down(9, 15)])).toEqual([
      [0, 5],
      [9, 15],
    ]);
    expect(spans([down(0, 5), piece(5, 15.5, 'unobserved'), down(15.5, 20), told(20, 22), down(22, 24)])).toEqual([
      [0, 5],
      [15.5, 20],
      [22, 24],
    ]);
    expect(spans([down(0, 5), piece(5, 9, 'standby'), piece(9, 12, 'unobserved'), down(12, 20)])).toEqual([
      [0, 5],
      [12, 20],
    ]);
  });

  test('[SP1] a short hole makes no second stop, and is no downtime', () => {
    const intervals = [down(0, 5), piece(5, 10, 'unobserved'), piece(10, 15, 'unobserved'), down(15, 20), piece(20, 60, 'standby')];
    expect(untoldStops(intervals, 1000 * MIN)).toMatchObject([{ from: 0, to: 20 * MIN, downMs: 10 * MIN }]);
    expect(stopsPage([{ intervals, heardUntil: 60 * MIN }], { from: 2 * MIN, to: 60 * MIN })).toMatchObject({
      unexplainedMs: 8 * MIN,
      unscheduledMs: 8 * MIN,
      share: 1,
    });
    expect(
      untoldStops([{ ...down(0, 1), to: 40_000 }, piece(0.666, 5, 'unobserved', { from: 40_000 }), { ...down(5, 6), to: 5.3 * MIN }], 1e9),
    ).toEqual([]);
  });

  test('[SP1] a stop that reaches the last word goes on', () => {
    expect(untoldStops([down(0, 5)], 5 * MIN)[0]?.isOn).toBe(true);
    expect(untoldStops([down(0, 5), piece(5, 6, 'unobserved')], 5 * MIN)[0]?.isOn).toBe(true);
    expect(untoldStops([down(0, 5), piece(5, 6, 'standby')], 6 * MIN)[0]?.isOn).toBe(false);
  });

  test('[SP2] a minute needs no reason, a millisecond more does', () => {
    expect(spans([down(0, 1)])).toEqual([]);
    expect(untoldStops([{ ...down(0, 1), to: MIN + 1 }], 1000 * MIN)).toHaveLength(1);
  });

  test('[SP2] told downtime is explained, and what a person called something else is no stop', () => {
    expect(spans([told(0, 60), piece(60, 90, 'scheduled-downtime', { entry: 'e2' })])).toEqual([]);
  });

  test('[SP3] [SP4] hours count inside the window, a stop is listed whole, newest first, chamber by chamber', () => {
    const first = { intervals: [down(0, 30), piece(30, 50, 'standby'), told(50, 60), down(60, 90)], heardUntil: 90 * MIN };
    const second = {
      intervals: [down(20, 40, { chamber: 'PC-02' }), piece(40, 90, 'standby', { chamber: 'PC-02' })],
      heardUntil: 90 * MIN,
    };
    const page = stopsPage([first, second], { from: 10 * MIN, to: 80 * MIN });
    expect(shape.parse(page)).toEqual(page);
    expect(page.stops.map(({ chamber, from, to }) => [chamber, from / MIN, to / MIN])).toEqual([
      ['PC-01', 60, 90],
      ['PC-02', 20, 40],
      ['PC-01', 0, 30],
    ]);
    expect([page.unexplainedMs / MIN, page.unscheduledMs / MIN]).toEqual([20 + 20 + 20, 20 + 10 + 20 + 20]);
    expect(page.share).toBeCloseTo(60 / 70, 12);
  });

  test('[SP4] where nothing was down there is no share', () => {
    expect(stopsPage([{ intervals: [piece(0, 60, 'standby')], heardUntil: 60 * MIN }], { from: 0, to: 60 * MIN })).toMatchObject({
      unexplainedMs: 0,
      share: null,
      stops: [],
    });
  });

  test('[SP2] over 300 random books untold downtime is what lies in one of the stops, looked up one by one', () => {
    const dice = random(5);
    for (let i = 0; i < 300; i++) {
      const chambers = ['PC-01', 'PC-02'].map((chamber) => ({ intervals: randomBook(dice, chamber), heardUntil: 400 * MIN }));
      const page = stopsPage(chambers, { from: 20 * MIN, to: 300 * MIN });
      const untold = chambers
        .flatMap(({ intervals }) => intervals)
        .filter(({ from, to, state, entry, chamber }) => {
          const isDown = state === 'unscheduled-downtime' && entry === null;
          return isDown && page.stops.some((stop) => stop.chamber === chamber && stop.from <= from && to <= stop.to);
        });
      const inside = untold.map(({ from, to }) => Math.max(0, Math.min(to, 300 * MIN) - Math.max(from, 20 * MIN)));
      expect(page.unexplainedMs).toBe(inside.reduce((sum, ms) => sum + ms, 0));
    }
  });
});

function randomBook(dice: () => number, chamber: string): StateInterval[] {
  const out: StateInterval[] = [];
  for (let from = 0; from < 400;) {
    const to = from + 0.5 + Math.floor(dice() * 20);
    const kind = Math.floor(dice() * 4);
    if (kind < 2) out.push(down(from, to, { chamber }));
    else if (kind === 2) out.push({ ...told(from, to), chamber });
    else out.push(piece(from, to, dice() < 0.5 ? 'unobserved' : 'standby', { chamber }));
    from = to;
  }
  return out;
}
