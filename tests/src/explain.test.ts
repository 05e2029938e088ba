import { describe, expect, test } from 'vitest';
import type { AlarmStatistics } from '../../src/alarm-answer.ts';
import { alarmStatistics } from '../../src/alarm-statistics.ts';
import { alarmTargets, closerLines } from '../../src/alarm-targets.ts';
import { EQUIPMENT_STATES } from '../../src/equipment.ts';
import type { StoredEvent } from '../../src/event.ts';
import { explain } from '../../src/explain.ts';
import { type Explanation, explanation as shape, type Term } from '../../src/explanation.ts';
import { fleetFacts } from '../../src/facts.ts';
import { loadRates, losses } from '../../src/losses.ts';
import { explainUsualShift, type EarlierWeek } from '../../src/explain-usual.ts';
import type { Usual, WindowNumbers } from '../../src/numbers.ts';
import { stopsPage } from '../../src/stops.ts';
import { usualLoads } from '../../src/week-headline.ts';
import { observedMs, totalMs } from '../../src/utilization.ts';
import { type FleetWindow, windowNumbers } from '../../src/window.ts';
import { randomBooks } from '../accuracy/random-books.ts';

const H = 3_600_000;
const POSITIONS = [
  { name: 'wet bench/west', chambers: ['PC-01', 'PC-02'] },
  { name: 'east', chambers: ['PC-03'] },
];
const windowOf = (seed: number, chamber: string | null = null): FleetWindow => {
  const { chambers, events, heardUntil, calendar, window } = randomBooks(seed);
  const whole = windowNumbers(fleetFacts({ chambers, events, heardUntil }), window, calendar);
  if (chamber === null) return whole;
  const facts = fleetFacts({ chambers: [chamber], events, heardUntil });
  return windowNumbers(facts, window, { ...calendar, nominal: whole.nominal });
};
/** A week of 100 observed hours, 25 of them idle, with 100 loads and one more each week. */
function earlierWeek(i: number): EarlierWeek {
  const fleet = windowOf(5).fleet;
  const share = { ...fleet.totalUtilization, value: 0.5, coverage: 1 };
  const time = { ...fleet.time, productive: 75 * H, standby: 25 * H };
  for (const state of EQUIPMENT_STATES) if (state !== 'productive' && state !== 'standby') time[state] = 0;
  const counts = { alarmActivations: 0, failures: 0, assists: 0, byChamber: [], recipes: [] };
  return {
    ...{ week: `2026-W${40 + i}`, from: i * H, to: (i + 1) * H, time, ...counts },
    ...{ totalUtilization: share, operationalUtilization: share, loads: { ...fleet.loads, completed: 100 + i } },
    losses: [{ cause: 'idle', state: 'standby', lostMs: 25 * H }],
  };
}

const ask = (found: FleetWindow, number: string, page = { offset: 0, limit: 100_000 }): Explanation | null =>
  explain({ number, chamber: null, ...page }, found, { positions: POSITIONS, previous: [] });

/** Every number of a window by the name it is asked for. */
function allNumbers({ fleet: n, chambers, intervals }: FleetWindow): Map<string, number | null> {
  const { reliability: r, alarms } = n;
  const out = new Map<string, number | null>([
    ['total-utilization', n.totalUtilization.value],
    ['operational-utilization', n.operationalUtilization.value],
    ['total-uptime', n.totalUptime.value],
    ['operational-uptime', n.operationalUptime.value],
    ['equipment-dependent-uptime', n.equipmentDependentUptime.value],
    ['supplier-dependent-uptime', n.supplierDependentUptime.value],
    ['coverage', n.operationalUtilization.coverage],
    ['mtbf-productive', r.mtbfProductive.estimate],
    ['mtbf-uptime', r.mtbfUptime.estimate],
    ['mcbf', r.cyclesBetweenFailures.estimate],
    ['mtb-assists', r.mtbAssists.estimate],
    ['mttr', r.mttr.estimate],
    ['mtol', r.meanOffline.estimate],
    ['failures', r.failures],
    ['failures/in-production', r.failuresInProduction],
    ['failures/cut', r.cut],
    ['failures/open', r.open],
    ['assists', r.assists],
    ['assists/in-production', r.assistsInProduction],
    ['alarms', alarms.activations],
    ['alarms-per-10-min', alarms.per10Min],
    ['loads/completed', n.loads.completed],
    ['loads/aborted', n.loads.aborted],
    ['loads/interrupted', n.loads.interrupted],
    ['loads/not-fully-observed', n.loads.notFullyObserved],
    ['loads/engineering', n.loads.engineering],
    ['oee/e79', n.oee[0]?.value ?? null],
    ['oee/iso22400', n.oee[1]?.value ?? null],
  ]);
  for (const state of EQUIPMENT_STATES) {
    out.set(`time/${state}`, n.time[state]);
    out.set(`time-share/${state}`, n.time[state] / totalMs(n.time));
  }
  out.set('time-total', totalMs(n.time));
  for (const { state, cause, lostMs, loads, occurrences } of losses(intervals, loadRates(chambers))) {
    out.set(`loss/${state}/${cause}`, lostMs);
    out.set(`loss-loads/${state}/${cause}`, loads);
    out.set(`loss-times/${state}/${cause}`, occurrences);
  }
  for (const { reason, waitMs, occurrences } of n.waiting) {
    out.set(`waiting/${reason}`, waitMs);
    out.set(`waiting-times/${reason}`, occurrences);
  }
  for (const { name, value } of n.iso22400) out.set(`iso22400/${name}`, value);
  for (const { shift, loads, loadsPerShift } of n.shiftLoads) {
    out.set(`shift-loads/${shift ?? ''}`, loads);
    if (loadsPerShift !== null) out.set(`loads-per-shift/${shift ?? ''}`, loadsPerShift);
  }
  timesInto(out, n);
  return out;
}

/** Alarms: beside their targets by position, the worst, the peak. */
function alarmNumbers(found: FleetWindow): Map<string, number | null> {
  const { fleet, parts } = found;
  const window = { from: fleet.from, to: fleet.to };
  const out = new Map<string, number | null>([['alarms-peak', fleet.alarms.peak10Min]]);
  for (const { chamber, code, activations, share } of fleet.alarms.worst) {
    if (activations === 0) continue;
    out.set(`alarm/${chamber}/${code}`, activations);
    out.set(`alarm-share/${chamber}/${code}`, share);
  }
  for (const { name, position, value } of alarmTargets(parts, POSITIONS, window)) out.set(`alarm-target/${name}/${position}`, value);
  for (const { name, chambers } of POSITIONS) {
    const own = parts.filter(({ facts }) => chambers.includes(facts.chamber));
    for (const line of closerLines(name, own, window)) out.set(`alarm-target/${line.name}/${name}`, line.value);
  }
  loadsInto(out, alarmStatistics(parts, POSITIONS, window));
  return out;
}

/** As the alarm page opens them. */
function loadsInto(out: Map<string, number | null>, { positions, chambers }: AlarmStatistics): void {
  for (const { name, mix } of positions) for (const { priority, share } of mix) out.set(`alarm-priority/${priority}/${name}`, share);
  for (const { name, lines, mix, worst } of chambers) {
    for (const line of lines) out.set(`alarm-target/${line.name}/${name}`, line.value);
    for (const { priority, share } of mix) out.set(`alarm-priority/${priority}/${name}`, share);
    for (const { chamber, code, fleeting, medianActiveMs, chatter, advice, activations } of worst) {
      if (activations === 0) continue;
      out.set(`alarm-fleeting/${chamber}/${code}`, fleeting);
      out.set(`alarm-active/${chamber}/${code}`, medianActiveMs);
      if (chatter.index !== null) out.set(`alarm-index/${chamber}/${code}`, chatter.index);
      for (const { kind, ms, removed } of advice?.settings ?? []) out.set(`alarm-delay/${kind}/${ms}/${chamber}/${code}`, removed);
    }
  }
}

function timesInto(out: Map<string, number | null>, { recipes, throughput }: WindowNumbers): void {
  for (const { recipe, runs, processTime, cycleTime, waitForUnload } of recipes) {
    out.set(`recipe-loads/${recipe}`, runs);
    if (waitForUnload) out.set(`wait-sum/${recipe}`, waitForUnload.sumMs);
    for (const p of [10, 50, 90] as const) {
      if (processTime) out.set(`process-time/${p}/${recipe}`, processTime[`p${p}`]);
      if (cycleTime) out.set(`cycle-time/${p}/${recipe}`, cycleTime[`p${p}`]);
    }
    if (waitForUnload) out.set(`wait-for-unload/95/${recipe}`, waitForUnload.p95);
  }
  for (const { recipe, cycles, busyCycles, parts } of throughput) {
    out.set(`cycles/${recipe ?? ''}`, cycles);
    if (busyCycles > 0) out.set(`cycles-busy/${recipe ?? ''}`, busyCycles);
    for (const { part, ms, minuteLoadsPerWeek, minuteLoadsPerWeekBusy } of parts) {
      out.set(`cycle-part/${part}/${recipe ?? ''}`, ms);
      out.set(`minute/${part}/${recipe ?? ''}`, minuteLoadsPerWeek);
      out.set(`minute-busy/${part}/${recipe ?? ''}`, minuteLoadsPerWeekBusy);
    }
  }
}

const sum = (list: readonly { readonly amount: number }[]): number => list.reduce((total, { amount }) => total + amount, 0);
const isWhole = ({ amount, parts }: Term): boolean => Math.abs(sum(parts) - amount) <= 1e-9 * Math.max(1, amount);
const near = (a: number | null, b: number | null): boolean =>
  a === null || b === null ? a === b : Math.abs(a - b) <= 1e-9 * Math.max(1, Math.abs(b));

describe('explanations', () => {
  test.each(Array.from({ length: 60 }, (_, i) => i))(
    '[XN1] [XT1] [XC1] [XA1] [XA2] [XM1] [XE2] [XE3] of random window %d: parts sum to their terms, terms make the number',
    (seed) => {
      const found = windowOf(seed);
      for (const [name, counted] of [...allNumbers(found), ...alarmNumbers(found)]) {
        const told = ask(found, name);
        const value = observedMs(found.fleet.time) === 0 && counted === 0 ? (told as Explanation).value : counted;
        expect([seed, name, told !== null]).toEqual([seed, name, true]);
        const { numerator, denominator, scale, percentile } = told as Explanation;
        expect([seed, name, numerator === null || isWhole(numerator), denominator === null || isWhole(denominator)]).toEqual([
          ...[seed, name],
          ...[true, true],
        ]);
        expect([seed, name, near((told as Explanation).value, value)]).toEqual([seed, name, true]);
        if (value === null || percentile || numerator === null) continue;
        const made = denominator ? (scale * numerator.amount) / denominator.amount : numerator.amount;
        expect([seed, name, near(made, value)]).toEqual([seed, name, true]);
      }
    },
  );

  test('[XT1] every interval of the window counts, is in the base or is excluded with why: together they are the whole window', () => {
    for (const seed of [1, 2, 3, 4, 5, 6]) {
      const found = windowOf(seed);
      const whole = found.fleet.chambers * (found.fleet.to - found.fleet.from);
      for (const name of [
        'total-utilization',
        'operational-utilization',
        'supplier-dependent-uptime',
        'oee/e79',
        'oee/iso22400',
        'coverage',
      ]) {
        const { denominator, excluded } = ask(found, name) as Explanation;
        expect([name, (denominator?.amount ?? 0) + excluded.reduce((total, { ms }) => total + (ms ?? 0), 0)]).toEqual([name, whole]);
        for (const { why } of excluded) expect(why.length).toBeGreaterThan(10);
      }
    }
  });

  test('[XN1] counts and sums are also the sum of what they were made of', () => {
    const found = windowOf(11);
    for (const name of ['failures', 'loads/completed', 'time/standby', 'time/productive', 'cycle-part/plasma/']) {
      const told = ask(found, name);
      if (told) expect([name, sum(told.madeOf.map((row) => ({ amount: row.amount as number })))]).toEqual([name, told.value]);
    }
  });

  test('[XN2] what it was made of comes newest first in pages that join without a gap, and the total is told', () => {
    const found = windowOf(4);
    const whole = ask(found, 'total-utilization') as Explanation;
    const pages = [0, 1, 2, 3].map((i) => ask(found, 'total-utilization', { offset: 10 * i, limit: 10 }) as Explanation);
    expect(pages.flatMap(({ madeOf }) => madeOf)).toEqual(whole.madeOf.slice(0, 40));
    expect([whole.madeOfTotal, pages[3]?.madeOfTotal]).toEqual([whole.madeOf.length, whole.madeOf.length]);
    expect(whole.madeOf.every(({ from }, i) => i === 0 || from <= (whole.madeOf[i - 1]?.from ?? 0))).toBe(true);
  });

  test('[XN3] a name that is no number, and a recipe, cause or percentile that is not there, has no explanation', () => {
    const found = windowOf(4);
    const names = [
      '',
      'efficiency',
      'time/asleep',
      'loads/lost',
      'loss/standby/dancing',
      'cycle-time/50/NO-SUCH',
      'cycle-time/0/ACT-AR-07',
      'oee/own',
    ];
    for (const name of names) expect([name, ask(found, name)]).toEqual([name, null]);
    expect(ask(found, 'constructor')).toBeNull();
    expect(ask(found, '__proto__')).toBeNull();
  });

  test('[XS1] a percentile lies between two of its values at the position of the NIST rule', () => {
    const found = windowOf(7);
    const recipe = found.fleet.recipes.find(({ runs }) => runs > 3)?.recipe ?? '';
    const { words, percentile, value, madeOf: rows, numerator } = ask(found, `process-time/50/${recipe}`) as Explanation;
    const madeOf = rows.map(({ amount }) => ({ amount: amount as number }));
    expect(words).toBe(`process time of ${recipe}: 50 % of loads are as fast or faster`);
    const sorted = madeOf.map(({ amount }) => amount).sort((a, b) => a - b);
    expect(percentile).toMatchObject({ p: 0.5, n: sorted.length, position: (sorted.length + 1) / 2 });
    expect([percentile?.below, percentile?.above]).toEqual([
      sorted[Math.floor((sorted.length - 1) / 2)],
      sorted[Math.ceil((sorted.length - 1) / 2)],
    ]);
    expect(value).toBe(((percentile?.below ?? 0) + (percentile?.above ?? 0)) / 2);
    expect(sum(numerator?.parts ?? [])).toBe(sum(madeOf));
  });

  test('[XE1] a figure of ISO 22400-2 without an input has no value, says which is missing, and has no parts', () => {
    const told = ask(windowOf(3), 'iso22400/quality ratio') as Explanation;
    expect(told).toMatchObject({ value: null, numerator: null, madeOf: [], worked: 'not stated: nobody counts good and bad loads here' });
  });

  test('[XN4] where nobody observed anything no count is stated, and unobserved time is', () => {
    const { chambers, calendar, window } = randomBooks(1);
    const found = windowNumbers(fleetFacts({ chambers, events: [], heardUntil: {} }), window, calendar);
    for (const name of ['failures', 'loads/completed', 'alarms', 'time/standby', 'alarm-target/most in any 10 min/east'])
      expect([name, ask(found, name)?.value]).toEqual([name, null]);
    expect(ask(found, 'time/unobserved')?.value).toBe(chambers.length * (window.to - window.from));
  });

  test('stops without a reason: hours, count and share are those of the list of stops', () => {
    for (let seed = 0; seed < 20; seed++) {
      const found = windowOf(seed);
      const { from, to } = found.fleet;
      const subjects = found.parts.map(({ around, facts }) => ({ intervals: around, heardUntil: facts.heardUntil }));
      const page = stopsPage(subjects, { from, to });
      const told = ['downtime', 'stops', 'share'].map((what) => ask(found, `unexplained-${what}`)?.value);
      expect([seed, ...told]).toEqual([seed, page.unexplainedMs, page.stops.length, page.share]);
    }
  });

  test('[XT1] each stop of the list opens into its duration, and a stop that is not listed into nothing', () => {
    const seeds = [1, 2, 3, 4, 5, 6];
    const listed = seeds.map((seed) => {
      const found = windowOf(seed);
      const { stops } = stopsPage(
        found.parts.map(({ around, facts }) => ({ intervals: around, heardUntil: facts.heardUntil })),
        randomBooks(seed).window,
      );
      for (const { chamber, from, downMs } of stops) {
        const alone = windowOf(seed, chamber);
        const told = explain({ number: `stop/${from}`, chamber, offset: 0, limit: 9 }, alone);
        expect([seed, from, told?.value, told?.numerator?.amount]).toEqual([seed, from, downMs, downMs]);
        expect(explain({ number: `stop/${from + 1}`, chamber, offset: 0, limit: 9 }, alone)).toBeNull();
      }
      return stops.length;
    });
    expect(Math.max(...listed)).toBeGreaterThan(0);
  });

  test('[XU2] what is usual in a shift is the median of the earlier ones, and one too little seen leads nowhere in it', () => {
    const share = windowOf(5).fleet.operationalUtilization;
    const earlier = [4, 9, 5].map((loads, i) => {
      return { from: i * H, to: (i + 1) * H, loads, utilization: { ...share, value: loads / 10 }, counts: loads !== 9 };
    });
    const [loads, used] = ['loads', 'operational-utilization'].map((what) => explainUsualShift(what, earlier));
    expect([loads?.value, used?.value]).toEqual([4.5, 0.45]);
    expect(loads?.madeOf.map(({ amount, counts }) => [amount, counts])).toEqual([
      [4, 'shift'],
      [9, 'left out'],
      [5, 'shift'],
    ]);
    expect(loads?.excluded).toMatchObject([{ label: '1 shift' }]);
    expect([explainUsualShift('alarms', earlier), explainUsualShift('loads', [])]).toEqual([null, null]);
  });

  test('[XU1] what is usual is the median of the weeks that may be compared with, each of them a row that leads to it', () => {
    const weeks = [0, 1, 2, 3, 4].map((i) => earlierWeek(i));
    const whole = { positions: [], previous: weeks };
    const told = explain({ number: 'usual/loads', chamber: null, offset: 0, limit: 9 }, windowOf(4), whole);
    expect(told).toMatchObject({ value: 102, unit: 'count', madeOfTotal: 5 });
    expect(told?.madeOf.map(({ chamber, text, amount }) => [chamber, text, amount])[0]).toEqual([null, '2026-W44', 104]);
    const { low, high } = usualLoads(weeks) as Usual;
    expect([told?.low, told?.high]).toEqual([low, high]);
    const loss = explain({ number: 'usual/loss/standby/idle', chamber: null, offset: 0, limit: 9 }, windowOf(4), whole);
    expect(loss?.value).toBeCloseTo(0.25 * observedMs(windowOf(4).fleet.time), -1);
    expect(explain({ number: 'usual/loads', chamber: null, offset: 0, limit: 9 }, windowOf(4), { ...whole, previous: [] })).toBeNull();
  });

  test('[XA2] of a flood, a chattering and a stale alarm: every line of the targets opens into its value, and its terms make it', () => {
    const { calendar } = randomBooks(1);
    const window = { from: 0, to: 48 * H };
    const at = 30 * H + 60_000;
    const state = (chamber: string, when: number): StoredEvent => ({
      ...{ kind: 'equipment-state', chamber, at: when, state: 'standby', reason: 'idle', source: 'tag', run: null, seq: 1 },
    });
    const alarm = (n: number, code: string, change: 'activated' | 'cleared', when: number): StoredEvent => ({
      ...{ kind: 'alarm', chamber: 'PC-01', at: when, code, text: code, priority: 'low', notice: false, change },
      ...{ counted: true, suppressed: false, seq: 10 + n },
    });
    const many = Array.from({ length: 40 }, (_, i) => [
      alarm(2 * i, `A${i % 12}`, 'activated', at + 9_000 * i),
      alarm(2 * i + 1, `A${i % 12}`, 'cleared', at + 9_000 * i + 2_000),
    ]).flat();
    const chatter = [0, 10_000, 20_000].flatMap((ms, i) => [
      alarm(100 + 2 * i, 'CHATTERS', 'activated', 40 * H + ms),
      alarm(101 + 2 * i, 'CHATTERS', 'cleared', 40 * H + ms + 500),
    ]);
    const events = [state('PC-01', 0), state('PC-02', 0), ...many, ...chatter, alarm(200, 'STALE', 'activated', H)];
    const facts = fleetFacts({ chambers: ['PC-01', 'PC-02', 'PC-03'], events, heardUntil: { 'PC-01': 48 * H, 'PC-02': 40 * H } });
    const found = windowNumbers(facts, window, calendar);
    const lines = alarmNumbers(found);
    for (const name of ['time in flood', '10-minute periods above 10', 'hours above 30', 'chattering alarms', 'alarms standing over 24 h'])
      expect([name, lines.get(`alarm-target/${name}/wet bench/west`)]).not.toEqual([name, 0]);
    for (const [name, value] of lines) {
      const { value: shown, numerator, denominator, scale, madeOf } = ask(found, name) as Explanation;
      expect([name, near(shown, value)]).toEqual([name, true]);
      if (value === null || numerator === null) continue;
      expect([name, near((scale * numerator.amount) / (denominator?.amount ?? 1), value)]).toEqual([name, true]);
      expect([name, value === 0 || madeOf.length > 0]).toEqual([name, true]);
    }
  });

  test('[WN3] a chamber asked for alone explains the same number as with the fleet', () => {
    const [alone, whole] = [windowOf(8, 'PC-01'), windowOf(8)];
    expect(alone.fleet.oee).toEqual(whole.chambers[0]?.oee);
    expect(ask(alone, 'oee/e79')?.value).toBe(whole.chambers[0]?.oee[0]?.value);
  });

  test('the sentence with the figures put in: hours over hours, the bounds of a share, and a share not stated', () => {
    const found = windowOf(3);
    const { worked, value } = ask(found, 'total-utilization') as Explanation;
    expect(worked).toContain(value === null ? 'not stated; it lies between' : `=  ${(100 * value).toFixed(2)} %`);
    for (let seed = 0; seed < 40; seed++)
      expect(ask(windowOf(seed), 'mtbf-uptime')?.worked).toMatch(/ {2}= {2}(not stated|[\d.]+ (h|min))/);
  });

  test('an explanation has the shape that is promised on the wire', () => {
    const found = windowOf(9);
    for (const name of allNumbers(found).keys()) expect(shape.parse(ask(found, name))).toEqual(ask(found, name));
  });

  test('the hours of an hour are sixty minutes: amounts say their unit', () => {
    const told = ask(windowOf(9), 'time/productive') as Explanation;
    expect(told.numerator?.amount).toBe(told.value);
    expect(told.worked).toMatch((told.value ?? 0) >= 2 * H ? / h/ : / min/);
  });
});
