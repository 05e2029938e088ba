import { describe, expect, test } from 'vitest';
import { fleetFacts } from '../../src/facts.ts';
import { seenNumbers, weekPage as weekPageShape } from '../../src/numbers.ts';
import { countText, onlySeen, seenCount, seenMs } from '../../src/seen.ts';
import { weekPage, weekSummary } from '../../src/week.ts';
import { windowNumbers } from '../../src/window.ts';
import { CHAMBERS, randomHistory } from './random-history.ts';

const HOUR = 3_600_000;
const WEEK = { from: Date.UTC(2026, 9, 11, 22), to: Date.UTC(2026, 9, 18, 22) };
const calendar = {
  zone: 'Europe/Berlin',
  holidays: [],
  shifts: [{ name: 'Early', days: ['mon', 'tue', 'wed', 'thu', 'fri'] as const, from: '06:00', to: '14:00' }],
};
const [UNSEEN = '', SEEN = ''] = CHAMBERS;
/** Nobody ever heard of the first chamber. */
const events = randomHistory({ ...WEEK, seed: 4 }).filter(({ chamber }) => chamber !== UNSEEN);
const heardUntil = Object.fromEntries(CHAMBERS.filter((chamber) => chamber !== UNSEEN).map((chamber) => [chamber, WEEK.to]));
const FACTS = fleetFacts({ chambers: CHAMBERS, events, heardUntil });
const NONE = fleetFacts({ chambers: CHAMBERS, events: [], heardUntil: {} });

/** Every count of zero in what is told, by its name; hours by state, bounds and what a count was divided from are no counts. */
function zeros(told: object, path = ''): string[] {
  const NO_COUNT = [
    'time',
    'from',
    'to',
    'low',
    'coverage',
    'baseMs',
    'theoreticalMs',
    'repairMs',
    'delayMs',
    'amount',
    'shifts',
    'countedTo',
  ];
  return Object.entries(told).flatMap(([name, value]) =>
    NO_COUNT.includes(name)
      ? []
      : value === 0
        ? [`${path}${name}`]
        : typeof value === 'object' && value
          ? zeros(value, `${path}${name}.`)
          : [],
  );
}

describe('numbers of a window nobody watched', () => {
  const found = windowNumbers(FACTS, WEEK, calendar);
  const told = found.chambers.map(onlySeen);

  test('[SE1] a chamber nobody observed has no count at all, not even of nothing', () => {
    const [unseen] = told;
    expect(unseen?.time.unobserved).toBe(168 * HOUR);
    expect([unseen?.loads.completed, unseen?.alarms.activations, unseen?.reliability.failures]).toEqual([null, null, null]);
    expect(unseen?.shiftLoads.map(({ loads, loadsPerShift }) => [loads, loadsPerShift])).toEqual([[null, null]]);
    expect(zeros(unseen ?? {}).filter((name) => !name.endsWith('.count'))).toEqual([]);
    expect(seenNumbers.parse(unseen)).toEqual(unseen);
  });

  test('[SE1] a week nobody observed has none either, as a page and as one of the weeks before', () => {
    const input = { week: '2026-W42', facts: NONE, calendar, now: WEEK.to };
    const page = weekPage(input);
    const week = weekSummary(input);
    expect(weekPageShape.parse(page)).toEqual(page);
    expect([page?.fleet.loads.completed, page?.unexplained.stops, page?.unexplained.lostMs]).toEqual([null, null, null]);
    expect([week?.loads.completed, week?.alarmActivations, week?.failures, week?.byChamber[0]?.loads]).toEqual([null, null, null, null]);
    expect(page?.headline).toEqual(['Nothing was observed in this week.']);
  });

  test('[SE1] what was counted stays, and so does the time that is known to be unobserved', () => {
    const time = { ...(told[0] as (typeof told)[number]).time };
    expect([seenCount(3, time), seenCount(0, time)]).toEqual([3, null]);
    expect([seenMs('unobserved', time), seenMs('standby', time)]).toEqual([168 * HOUR, null]);
    expect([countText(null), countText(0), countText(12)]).toEqual(['–', '0', '12']);
  });

  test('[SE2] of a chamber that was observed every number is told as it was computed, zeros too', () => {
    expect(told[1]?.chamber).toBe(SEEN);
    expect(told[1]).toEqual(found.chambers[1]);
    const quiet = { ...(told[0] as (typeof told)[number]).time, unobserved: 167 * HOUR, standby: HOUR };
    expect([seenCount(0, quiet), seenMs('productive', quiet)]).toEqual([0, 0]);
  });
});
