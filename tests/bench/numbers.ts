/** How long the numbers take, on random events of 12 chambers: node tests/bench/numbers.ts */
import { watchBatch, initialWatch } from '../../src/alert-watch.ts';
import { burstBaseline } from '../../src/burst.ts';
import type { Calendar } from '../../src/calendar.ts';
import { fleetFacts } from '../../src/facts.ts';
import { earlierShifts, usualShift } from '../../src/fleet-strip.ts';
import { weekPage } from '../../src/week.ts';
import { windowNumbers } from '../../src/window.ts';
import { CHAMBERS, randomHistory } from '../src/random-history.ts';
import { rulesWith } from '../src/watch-fixture.ts';

const DAY = 86_400_000;
const calendar: Calendar = {
  zone: 'Europe/Berlin',
  holidays: [],
  shifts: [
    { name: 'Early', days: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat'], from: '06:00', to: '14:00' },
    { name: 'Late', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '14:00', to: '22:00' },
    { name: 'Night', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '22:00', to: '06:00' },
  ],
};

/** Processor time beside wall time: on a busy machine only the first says what the work costs. */
function time<T>(what: string, work: () => T, repeats = 7): T {
  let result = work();
  const runs = Array.from({ length: repeats }, () => {
    const [start, used] = [performance.now(), process.cpuUsage()];
    result = work();
    const { user, system } = process.cpuUsage(used);
    return { wall: performance.now() - start, processor: (user + system) / 1000 };
  });
  const median = (of: (run: (typeof runs)[number]) => number): string =>
    (runs.map(of).sort((a, b) => a - b)[repeats >> 1] as number).toFixed(1).padStart(8);
  console.log(
    `${what.padEnd(58)} processor ${median((run) => run.processor)} ms   wall ${median((run) => run.wall)} ms   (median of ${repeats})`,
  );
  return result;
}

const now = Date.UTC(2026, 9, 26);
// Alarms are many here so that six weeks make about 200 000 events.
const events = randomHistory({ from: now - 42 * DAY, to: now, seed: 1, alarmsPerHour: 6 });
const heardUntil = Object.fromEntries(CHAMBERS.map((chamber) => [chamber, now]));
console.log(`${events.length} events of 12 chambers over six weeks`);
const shuffled = events.toSorted((a, b) => ((a.seq * 7919) % 10007) - ((b.seq * 7919) % 10007));

const facts = time('facts from events in order', () => fleetFacts({ chambers: CHAMBERS, events, heardUntil }));
time('facts from events in any order', () => fleetFacts({ chambers: CHAMBERS, events: shuffled, heardUntil }));
time('numbers of all six weeks as one window', () => windowNumbers(facts, { from: now - 42 * DAY, to: now }, calendar));
time('numbers of one week', () => windowNumbers(facts, { from: now - 7 * DAY, to: now }, calendar));
time('numbers of one day', () => windowNumbers(facts, { from: now - DAY, to: now }, calendar));
const page = time('week page, six earlier weeks computed', () => weekPage({ week: '2026-W43', facts, calendar, now }));
time('week page, earlier weeks at hand', () =>
  weekPage({ week: '2026-W43', facts, calendar, now, ...(page && { previous: page.previous }) }),
);
time('usual shift, ten earlier ones', () => usualShift(earlierShifts(facts, calendar, now - 3 * DAY + 11 * 3_600_000)));

const history = { from: now - 42 * DAY, to: now };
const { intervals } = windowNumbers(facts, history, calendar);
const baselines = time('burst baselines of 12 chambers over six weeks', () =>
  facts.map(({ chamber, alarms }, i) => burstBaseline({ chamber, alarms, intervals: intervals[i] ?? [], epsilon: 0.1 })),
);
const rules = rulesWith({ chambers: CHAMBERS, baselines: new Map(baselines.map((baseline) => [baseline.chamber, baseline])) });
const alerts = time(
  'alert watch over six weeks, in batches of a minute',
  () => {
    let [state, told, next] = [initialWatch(), 0, 0];
    for (let at = now - 42 * DAY; at < now; at += 60_000) {
      const batch = [];
      while (next < events.length && (events[next]?.at ?? 0) < at + 60_000) batch.push(...events.slice(next, ++next));
      const step = watchBatch(rules, state, { events: batch, now: at + 60_000 });
      state = step.state;
      told += step.alerts.length;
    }
    return told;
  },
  3,
);
console.log(
  `(${alerts} alert versions told; thresholds ${baselines.map(({ classes }) => (classes ? `${classes.running.threshold}/${classes['not-running'].threshold}` : 'none')).join(' ')})`,
);
