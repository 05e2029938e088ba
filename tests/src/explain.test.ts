import { describe, expect, test } from 'vitest';
import { EQUIPMENT_STATES } from '../../src/equipment.ts';
import { explain } from '../../src/explain.ts';
import { type Explanation, explanation as shape, type Term } from '../../src/explanation.ts';
import { fleetFacts } from '../../src/facts.ts';
import { loadRates, losses } from '../../src/losses.ts';
import type { WindowNumbers } from '../../src/numbers.ts';
import { type FleetWindow, windowNumbers } from '../../src/window.ts';
import { randomBooks } from '../accuracy/random-books.ts';

const H = 3_600_000;
const windowOf = (seed: number, chamber: string | null = null): FleetWindow => {
  const { chambers, events, heardUntil, calendar, window } = randomBooks(seed);
  const whole = windowNumbers(fleetFacts({ chambers, events, heardUntil }), window, calendar);
  if (chamber === null) return whole;
  const facts = fleetFacts({ chambers: [chamber], events, heardUntil });
  return windowNumbers(facts, window, { ...calendar, nominal: whole.nominal });
};
const ask = (found: FleetWindow, number: string, page = { offset: 0, limit: 100_000 }): Explanation | null =>
  explain({ number, chamber: null, ...page }, found);

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
    ['assists', r.assists],
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
  for (const state of EQUIPMENT_STATES) out.set(`time/${state}`, n.time[state]);
  for (const { state, cause, lostMs } of losses(intervals, loadRates(chambers))) out.set(`loss/${state}/${cause}`, lostMs);
  for (const { reason, waitMs } of n.waiting) out.set(`waiting/${reason}`, waitMs);
  timesInto(out, n);
  return out;
}

function timesInto(out: Map<string, number | null>, { recipes, throughput }: WindowNumbers): void {
  for (const { recipe, processTime, cycleTime, waitForUnload } of recipes) {
    for (const p of [10, 50, 90] as const) {
      if (processTime) out.set(`process-time/${p}/${recipe}`, processTime[`p${p}`]);
      if (cycleTime) out.set(`cycle-time/${p}/${recipe}`, cycleTime[`p${p}`]);
    }
    if (waitForUnload) out.set(`wait-for-unload/95/${recipe}`, waitForUnload.p95);
  }
  for (const { recipe, parts } of throughput) for (const { part, ms } of parts) out.set(`cycle-part/${part}/${recipe ?? ''}`, ms);
}

const sum = (list: readonly { readonly amount: number }[]): number => list.reduce((total, { amount }) => total + amount, 0);
const isWhole = ({ amount, parts }: Term): boolean => Math.abs(sum(parts) - amount) <= 1e-9 * Math.max(1, amount);
const near = (a: number | null, b: number | null): boolean =>
  a === null || b === null ? a === b : Math.abs(a - b) <= 1e-9 * Math.max(1, Math.abs(b));

describe('explanations', () => {
  test.each(Array.from({ length: 60 }, (_, i) => i))(
    '[XN1] [XT1] [XC1] of random window %d: parts sum to their terms, terms make the number',
    (seed) => {
      const found = windowOf(seed);
      for (const [name, value] of allNumbers(found)) {
        const told = ask(found, name);
        expect([seed, name, told !== null]).toEqual([seed, name, true]);
        const { numerator, denominator, scale, percentile } = told as Explanation;
        expect([seed, name, isWhole(numerator), denominator === null || isWhole(denominator)]).toEqual([seed, name, true, true]);
        expect([seed, name, near((told as Explanation).value, value)]).toEqual([seed, name, true]);
        if (value === null || percentile) continue;
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
        expect([name, (denominator?.amount ?? 0) + excluded.reduce((total, { ms }) => total + ms, 0)]).toEqual([name, whole]);
        for (const { why } of excluded) expect(why.length).toBeGreaterThan(10);
      }
    }
  });

  test('[XN1] counts and sums are also the sum of what they were made of', () => {
    const found = windowOf(11);
    for (const name of ['failures', 'loads/completed', 'time/standby', 'time/productive', 'cycle-part/plasma/']) {
      const told = ask(found, name);
      if (told) expect([name, sum(told.madeOf)]).toEqual([name, told.value]);
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
    const { words, percentile, value, madeOf, numerator } = ask(found, `process-time/50/${recipe}`) as Explanation;
    expect(words).toBe(`process time of ${recipe}: 50 % of loads are as fast or faster`);
    const sorted = madeOf.map(({ amount }) => amount).sort((a, b) => a - b);
    expect(percentile).toMatchObject({ p: 0.5, n: sorted.length, position: (sorted.length + 1) / 2 });
    expect([percentile?.below, percentile?.above]).toEqual([
      sorted[Math.floor((sorted.length - 1) / 2)],
      sorted[Math.ceil((sorted.length - 1) / 2)],
    ]);
    expect(value).toBe(((percentile?.below ?? 0) + (percentile?.above ?? 0)) / 2);
    expect(sum(numerator.parts)).toBe(sum(madeOf));
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
    expect(told.numerator.amount).toBe(told.value);
    expect(told.worked).toMatch((told.value ?? 0) >= 2 * H ? / h/ : / min/);
  });
});
