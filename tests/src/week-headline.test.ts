import { describe, expect, test } from 'vitest';
import type { StateTimes, WeekLoss, WeekPage } from '../../src/numbers.ts';
import { shares } from '../../src/utilization.ts';
import type { Interrupt } from '../../src/interrupts.ts';
import { reliabilityNumbers } from '../../src/reliability-numbers.ts';
import { headline, movedLoss, usualLoads, usualOf } from '../../src/week-headline.ts';
import { restOfNumbers } from './kpi-example.ts';
import { noHours } from './random-history.ts';

const H = 3_600_000;
type Page = Parameters<typeof headline>[0];
type Part = { readonly loads?: number; readonly productive?: number; readonly unobserved?: number; readonly p50?: number };

const time = ({ productive = 100, unobserved = 0 }: Part): StateTimes => ({
  ...noHours(),
  productive: productive * H,
  unobserved: unobserved * H,
  standby: (168 - productive - unobserved) * H,
});
const counts = (completed: number): WeekPage['previous'][number]['loads'] => ({
  completed,
  aborted: 0,
  interrupted: 0,
  notFullyObserved: 0,
  engineering: 0,
});
const times = (minutes: number) => ({ n: 9, p10: minutes * 60_000, p50: minutes * 60_000, p90: minutes * 60_000 });
const fleetOf = (part: Part, chamber: string | null = null): WeekPage['fleet'] => ({
  chamber,
  chambers: 1,
  from: 0,
  to: 168 * H,
  time: time(part),
  ...shares(time(part)),
  ...restOfNumbers(time(part)),
  loads: counts(part.loads ?? 100),
  recipes: [{ recipe: 'DSM-PI-25', runs: 9, processTime: times(part.p50 ?? 30), cycleTime: null, waitForUnload: null, phases: [] }],
  alarms: { activations: 0, per10Min: 0, peak10Min: 0, peakAt: null, floods: [], worst: [] },
});
const previous = (part: Part, week: string): WeekPage['previous'][number] => {
  const { totalUtilization, operationalUtilization, loads, recipes, time: hours } = fleetOf(part);
  return {
    week,
    totalUtilization,
    operationalUtilization,
    loads,
    alarmActivations: 0,
    failures: 0,
    assists: 0,
    losses: [],
    time: hours,
    byChamber: [{ chamber: 'PC-01', operationalUtilization, loads: loads.completed }],
    recipes,
  };
};
const usualWeeks = (count: number): Page['previous'] =>
  Array.from({ length: count }, (_, i) => previous({ loads: 98 + i, productive: 98 + i, p50: 29.8 + i / 10 }, `2026-W${10 + i}`));
const page = (part: Part, more: Partial<Page> = {}): Page => ({
  complete: true,
  fleet: fleetOf(part),
  chambers: [fleetOf(part, 'PC-01')],
  previous: usualWeeks(5),
  losses: [],
  drift: [],
  unexplained: { stops: 0, lostMs: 0, share: null, longest: [], byChamber: [] },
  ...more,
});

const STOP: Interrupt = {
  chamber: 'PC-01',
  from: 0,
  to: 3 * H,
  kind: 'failure',
  inProduction: true,
  cut: false,
  open: false,
  downMs: 3 * H,
  delayMs: 0,
  reason: 'tripped',
  run: null,
};

describe('week headline', () => {
  test('[WH1] with three earlier weeks nothing is compared, with four it is', () => {
    expect(headline(page({}, { previous: usualWeeks(3) }))[0]).toBe(
      '100 loads. Fewer than 4 earlier weeks are on record, so nothing is compared yet.',
    );
    expect(headline(page({ loads: 101 }, { previous: usualWeeks(4) }))[0]).toMatch(
      /^101 loads, 2 more than the median of the 4 weeks before, within the usual spread\.$/,
    );
  });

  test('[WH1] weeks with under 80 % of their time observed are no measure', () => {
    const halfSeen = usualWeeks(5).map((week, i) => (i < 2 ? previous({ productive: 50, unobserved: 80 }, week.week) : week));
    expect(headline(page({}, { previous: halfSeen }))[0]).toContain('Fewer than 4 earlier weeks');
  });

  test('[WH1] nor is anything called changed against them', () => {
    const halfSeen = usualWeeks(5).map((week, i) => (i < 2 ? previous({ productive: 50, unobserved: 80 }, week.week) : week));
    expect(headline(page({ p50: 60 }, { previous: halfSeen })).join(' ')).not.toMatch(/usual/);
    expect(headline(page({ p50: 60 })).join(' ')).toContain('DSM-PI-25: median process time 60.0 min, usually');
  });

  test('[WH2] usual is the prediction interval for one more week: mean 100, s 1.5811, n 5 give 100 -+ 4.604 x 1.5811 x 1.0954 (textbook)', () => {
    const usual = usualOf([98, 99, 100, 101, 102]);
    expect(usual?.low).toBeCloseTo(100 - 4.604 * Math.sqrt(2.5) * Math.sqrt(1.2), 9);
    expect(usual?.high).toBeCloseTo(100 + 4.604 * Math.sqrt(2.5) * Math.sqrt(1.2), 9);
    expect([usualOf([1, 2, 3]), usualOf([1, 2, 3, null])]).toEqual([null, null]);
  });

  test('[WH2] inside the spread nothing is called a change', () => {
    const sentences = headline(page({ loads: 104, productive: 104, p50: 30.4 }));
    expect(sentences).toContain('No chamber and no recipe left its usual spread.');
    expect(sentences[1]).toBe('Operational utilization 61.9 % of operations time, 100.0 % of it observed, as usual.');
  });

  test('[WH2] outside it the number, what is usual, and the largest change first are told', () => {
    const sentences = headline(page({ loads: 60, productive: 60, p50: 36 }));
    expect(sentences[0]).toBe('60 loads, 40 fewer than the median of the 5 weeks before, outside the usual 92 to 108.');
    expect(sentences[1]).toContain('Operational utilization 35.7 % of operations time, 100.0 % of it observed, outside the usual ');
    expect(sentences.slice(4, 6)).toEqual([
      expect.stringMatching(/^PC-01: operational utilization 35\.7 %, usually 54\.8 % to 64\.3 %\.$/),
      expect.stringMatching(/^DSM-PI-25: median process time 36\.0 min, usually 29\.2 min to 30\.8 min\.$/),
    ]);
  });

  test('[WH3] loads of a week with less than 95 % observed are told without comparison, and such weeks are no measure', () => {
    expect(headline(page({ loads: 60, unobserved: 10 }))[0]).toBe('60 loads seen, with 94.0 % of the time observed.');
    expect(headline(page({ loads: 60, unobserved: 8 }))[0]).toMatch(/^60 loads, 40 fewer/);
    const holes = usualWeeks(5).map((week, i) => (i < 2 ? previous({ unobserved: 10 }, week.week) : week));
    expect(headline(page({}, { previous: holes }))[0]).toContain('Fewer than 4 earlier weeks');
  });

  test('[WH3] a week that still runs is compared with whole ones by nothing: loads, utilization, chambers, recipes', () => {
    const sentences = headline(page({ loads: 12, p50: 60 }, { complete: false }));
    expect(sentences[0]).toBe('12 loads so far; the week is still running.');
    expect(sentences.join(' ')).not.toMatch(/usual/);
  });

  test('[WH4] a utilization that cannot be stated is given as bounds, and loads with what was seen', () => {
    const sentences = headline(page({ productive: 42, unobserved: 84 }));
    expect(sentences[0]).toBe('100 loads seen, with 50.0 % of the time observed.');
    expect(sentences[1]).toBe(
      'Operational utilization cannot be stated: 50.0 % of the time was observed; it lies between 25.0 % and 75.0 %.',
    );
  });

  test('[WH5] time not observed is always told, and so is that there was none', () => {
    expect(headline(page({ unobserved: 16.8 })).at(-1)).toBe('16.8 h of 168.0 h were not observed (10.0 %).');
    expect(headline(page({})).at(-1)).toBe('All time was observed.');
  });

  test('[WH5] of a week that nobody saw nothing is said to be absent, and of one to come nothing at all', () => {
    expect(headline(page({ productive: 0, unobserved: 168 }))).toEqual(['Nothing was observed in this week.']);
    expect(headline(page({}, { fleet: { ...fleetOf({}), time: noHours() } }))).toEqual(['This week has not begun.']);
  });

  test('[WH6] a little unobserved time is not rounded to none, nor nearly all to all', () => {
    const sentences = headline(page({ unobserved: 0.05 }));
    expect(sentences[1]).toContain('over 99.9 % of it observed');
    expect(sentences.at(-1)).toBe('0.1 h of 168.0 h were not observed (less than 0.1 %).');
    expect(headline(page({ unobserved: 0.001 })).at(-1)).toBe('Less than 0.1 h of 168.0 h were not observed (less than 0.1 %).');
  });

  test('[WH5] the largest loss named is a cause, never the unobserved time', () => {
    const loss = (cause: string, state: WeekLoss['state'], hours: number): WeekLoss => ({
      loads: null,
      usual: null,
      cause,
      state,
      lostMs: hours * H,
      occurrences: 3,
      chambers: [{ chamber: 'PC-01', lostMs: hours * H }],
      parts: [{ reason: cause, lostMs: hours * H }],
    });
    expect(headline(page({}, { losses: [loss('idle', 'standby', 42), loss('not observed', 'unobserved', 90)] }))[2]).toBe(
      'Largest loss: idle, 42.0 h in 1 chamber, 25.0 % of observed time.',
    );
    expect(headline(page({}))[2]).toBe('No standby and no downtime was seen.');
  });

  test('[WH3] the usual loads are the median of well seen weeks, the same that the sentence names', () => {
    const weeks = usualWeeks(5).map((week, i) => (i === 0 ? previous({ loads: 10, productive: 98, unobserved: 20 }, week.week) : week));
    expect(usualLoads(weeks)).toMatchObject({ weeks: 4, median: 100.5 });
    expect(headline(page({ loads: 103 }, { previous: weeks }))[0]).toContain('3 more than the median of the 4 weeks before');
    expect(usualLoads(weeks.slice(2))).toBeNull();
  });

  test('[WH7] the cause that left its usual spread by most hours is told with what is usual and where; causes inside it are not offered', () => {
    const usual = { low: 10 * H, high: 20 * H, median: 15 * H, weeks: 5 };
    const loss = (cause: string, hours: number): WeekLoss => ({
      cause,
      state: 'unscheduled-downtime',
      lostMs: hours * H,
      loads: 3,
      usual,
      occurrences: 2,
      chambers: [
        { chamber: 'PC-05', lostMs: 0.8 * hours * H },
        { chamber: 'PC-01', lostMs: 0.2 * hours * H },
      ],
      parts: [{ reason: cause, lostMs: hours * H }],
    });
    const told = headline(page({}, { losses: [loss('tripped: RF', 32), loss('tripped: pump', 19), loss('idle', 6)] })).join(' ');
    expect(told).toContain(
      'What changed most: tripped: RF took 32.0 h, 17.0 h more than the median, usually 10.0 h to 20.0 h, most of it at PC-05.',
    );
    expect(told).not.toMatch(/changed most: (tripped: pump|idle)/);
    expect(movedLoss([loss('tripped: pump', 19)])).toBeNull();
    expect(headline(page({}, { losses: [loss('idle', 6)] })).join(' ')).toContain('9.0 h less than the median');
    expect(headline(page({}, { losses: [loss('idle', 12)] })).join(' ')).toContain(
      'No cause of loss, no chamber and no recipe left its usual spread.',
    );
    const none = { low: 0, high: 0, median: 0, weeks: 5 };
    expect(headline(page({}, { losses: [{ ...loss('tripped: leak', 6), usual: none }] })).join(' ')).toContain(
      'tripped: leak took 6.0 h, 6.0 h more than the median, usually none, most of it at PC-05.',
    );
    // A told cause has no usual and silences nothing.
    expect(headline(page({}, { losses: [loss('idle', 12), { ...loss('waiting for parts', 9), usual: null }] })).join(' ')).toContain(
      'No cause of loss, no chamber and no recipe left its usual spread.',
    );
  });

  test('[WH8] no failure is told with its hours and what they say; failures with bounds and repair', () => {
    expect(headline(page({})).join(' ')).toContain(
      'No failure in 100.0 h of productive time: at least 43.4 h between failures with 90 % confidence.',
    );
    const fleet = fleetOf({});
    const reliability = reliabilityNumbers(fleet.time, {
      stops: [1, 2].map((from) => ({ ...STOP, from })),
      downtimeEvents: 2,
      cycles: 9,
      failureTimesMs: [],
    });
    expect(headline(page({}, { fleet: { ...fleet, reliability } })).join(' ')).toContain(
      '2 failures, one in 50.0 h of productive time (15.9 h to 281.4 h with 90 % confidence), repaired in 3.0 h on average.',
    );
    const outside = reliabilityNumbers(fleet.time, {
      stops: [1, 2, 3].map((from) => ({ ...STOP, from, inProduction: from < 3 })),
      downtimeEvents: 3,
      cycles: 9,
      failureTimesMs: [],
    });
    expect(headline(page({}, { fleet: { ...fleet, reliability: outside } })).join(' ')).toContain(
      '3 failures, 2 of them in productive time: one in 50.0 h of it (15.9 h to 281.4 h with 90 % confidence), repaired',
    );
  });

  test('the worst alarm is named with its share, and floods are counted', () => {
    const fleet = fleetOf({});
    const worst = {
      chamber: 'PC-06',
      code: 'RF_REFL_HIGH',
      text: 'Reflected power high',
      priority: 'medium' as const,
      activations: 80,
      share: 0.8,
      standingMs: 0,
      chattering: true,
    };
    const alarms = { ...fleet.alarms, activations: 100, floods: [{ from: 0, to: 1, peak: 12 }], worst: [worst] };
    expect(headline(page({}, { fleet: { ...fleet, alarms } }))).toContain(
      '100 alarms, 1 flood. Worst: Reflected power high at PC-06, 80 of them or 80.0 %, chattering.',
    );
  });
});
