/**
 * Four weeks of the hall: the numbers a manager would know from life. Targets are the model's design figures (trade knowledge, no outside
 * source): some 1400 loads a week, unscheduled downtime 4 to 7 % and scheduled 2 to 4 % of the calendar, about three alarms per chamber and
 * day beside those that chatter.
 */
import { beforeAll, expect, test } from 'vitest';
import { shiftAt } from '../../../gateway/simulator/calendar.ts';
import { FAULT_NAMES } from '../../../gateway/simulator/plant-port.ts';
import { lines, median, MONDAY, type Story, story, WEEK } from './plant-story.ts';

const WEEKS = 4;
const TO = MONDAY + WEEKS * WEEK;
let lived: Story;

beforeAll(() => {
  lived = story({ pace: 'history', seed: 3 }, () => false);
  lived.plant.advance(TO, lived.sink);
  lived.plant.closeTruth();
});

function hoursBy(key: 'state' | 'reason', wanted: string): number {
  return lines(lived.truth, 'state').reduce((sum, line) => sum + (line[key] === wanted ? line.to - line.from : 0), 0) / 3_600_000;
}
const CALENDAR_H = (WEEKS * 12 * WEEK) / 3_600_000;
const percent = (state: string): number => (100 * hoursBy('state', state)) / CALENDAR_H;

test('every chamber has one state and one phase at every moment', () => {
  for (const { id } of lived.plant.chambers) {
    for (const kind of ['state', 'phase'] as const) {
      const own = lines(lived.truth, kind)
        .filter((line) => line.chamber === id)
        .sort((a, b) => a.from - b.from);
      let at = MONDAY;
      for (const line of own) {
        expect(line.from).toBe(at);
        at = line.to;
      }
      expect(at).toBe(TO);
    }
  }
});

test('loads per week are near 1400', () => {
  const loads = lines(lived.truth, 'run').filter((run) => run.outcome === 'completed' && !run.engineering).length / WEEKS;
  expect(loads).toBeGreaterThan(1250);
  expect(loads).toBeLessThan(1600);
});

test('time is shared as in such a hall', () => {
  expect(percent('productive')).toBeGreaterThan(35);
  expect(percent('productive')).toBeLessThan(45);
  expect(percent('unscheduled-downtime')).toBeGreaterThan(4);
  expect(percent('unscheduled-downtime')).toBeLessThan(7);
  expect(percent('scheduled-downtime')).toBeGreaterThan(2);
  expect(percent('scheduled-downtime')).toBeLessThan(4);
  expect(Math.abs(percent('nonscheduled') - 23.8)).toBeLessThan(0.2); // 40 of 168 h
  expect(percent('engineering')).toBeGreaterThan(0.2);
});

test('a chamber fails once in some 20 to 25 productive hours and is repaired in about an hour and a half', () => {
  const stops = lines(lived.truth, 'state').filter(
    ({ state, reason }) => state === 'unscheduled-downtime' && !/power|restart/.test(reason),
  );
  const meanHours = hoursBy('state', 'productive') / stops.length;
  expect(meanHours).toBeGreaterThan(17);
  expect(meanHours).toBeLessThan(26);
  expect(Math.abs(median(stops.map(({ from, to }) => (to - from) / 60_000)) - 90)).toBeLessThan(20);
});

test('nonscheduled time is never inside a shift', () => {
  for (const line of lines(lived.truth, 'state').filter(({ state }) => state === 'nonscheduled')) {
    expect([shiftAt(line.from), shiftAt(line.to - 1000)]).toEqual([null, null]);
  }
});

test('about three alarms per chamber and day beside those that chatter', () => {
  const chattering = new Set(['RF_REFL_HIGH', 'DOOR_NOT_CLOSED', 'WATER_FLOW_LOW']);
  const calm = lines(lived.truth, 'alarm').filter(({ code }) => !chattering.has(code)).length / (12 * 7 * WEEKS);
  expect(calm).toBeGreaterThan(2);
  expect(calm).toBeLessThan(4.5);
  expect(lines(lived.truth, 'alarm').length).toBeGreaterThan(WEEKS * 1200);
});

test('runs end aborted and interrupted too, product and engineering, and some go without purge', () => {
  const runs = lines(lived.truth, 'run');
  const share = (outcome: string): number => runs.filter((run) => run.outcome === outcome).length / runs.length;
  expect(share('aborted')).toBeGreaterThan(0.008);
  expect(share('aborted')).toBeLessThan(0.05);
  expect(share('interrupted')).toBeGreaterThan(0.001);
  expect(runs.some((run) => run.engineering && run.recipe === 'LKT-05' && run.load === null)).toBe(true);
  const purges = lines(lived.truth, 'phase').filter(({ phase }) => phase === 'purge');
  const unpurged = runs
    .filter((run) => run.outcome === 'completed' && run.recipe !== 'LKT-05')
    .filter((run) => !purges.some((purge) => purge.chamber === run.chamber && purge.from >= run.from && purge.to <= run.to));
  expect(unpurged.length).toBeGreaterThan(0);
  expect(unpurged.length).toBeLessThan(40);
});

test('the story brings most kinds of fault within any two weeks', () => {
  const faults = lines(lived.truth, 'fault');
  const seen = new Set(faults.filter(({ from }) => from < MONDAY + 2 * WEEK).map(({ fault }) => fault));
  const never = FAULT_NAMES.filter((name) => !seen.has(name));
  expect(never).toEqual(['link-drop']); // told as link lines, below
  expect(lines(lived.truth, 'link').filter(({ server, state }) => server === 'cedar-12' && state === 'drop').length).toBeGreaterThan(10);
});

test('no load is lost or doubled: each is completed at most once', () => {
  const completed = lines(lived.truth, 'run')
    .filter((run) => run.load !== null && run.outcome === 'completed')
    .map((run) => run.load);
  expect(new Set(completed).size).toBe(completed.length);
});

test('a wearing pump shows: pump-downs of PC-07 slow by the day until it is rebuilt, its sister stays', () => {
  const days = (chamber: string, from: number, to: number): number => {
    const own = lines(lived.truth, 'phase').filter(
      (line) => line.chamber === chamber && line.phase === 'pump-down' && line.from >= from && line.to <= to,
    );
    const seconds = own.map((line) => (line.to - line.from) / 1000).sort((a, b) => a - b);
    return seconds[Math.floor(seconds.length / 2)]!;
  };
  const wear = lines(lived.truth, 'fault').find(({ fault }) => fault === 'pump-wear')!;
  const DAY = 86_400_000;
  const ratio = days('PC-07', wear.from + 3.5 * DAY, wear.from + 5 * DAY) / days('PC-07', wear.from, wear.from + DAY);
  expect(ratio).toBeGreaterThan(1.12);
  expect(days('PC-08', wear.from + 3.5 * DAY, wear.from + 5 * DAY) / days('PC-08', wear.from, wear.from + DAY)).toBeLessThan(1.05);
  expect(days('PC-07', wear.to! + DAY / 2, wear.to! + 3 * DAY)).toBeLessThan(145);
});

test('a run stopped in its plasma is purged like any other', () => {
  const phases = Map.groupBy(lines(lived.truth, 'phase'), (line) => line.chamber);
  const purges = lines(lived.truth, 'run')
    .filter((run) => run.outcome === 'aborted')
    .flatMap((run) => {
      const own = phases.get(run.chamber)!.filter((line) => line.from >= run.from && line.to <= run.to);
      const purge = own.find((line) => line.phase === 'purge');
      return own.some((line) => line.phase === 'plasma') ? [purge === undefined ? 0 : (purge.to - purge.from) / 1000] : [];
    });
  expect(purges.length).toBeGreaterThan(20);
  // 30 s after plain gases, 60 s after fluorinated ones; somebody skips one in hundreds.
  expect(purges.filter((seconds) => seconds >= 30).length / purges.length).toBeGreaterThan(0.95);
});
