/** Numbers of now explained: control charts, counters and due dates, what the chamber's page counts. */
import { describe, expect, test } from 'vitest';
import { chamberTile as tileShape, type ChamberTile } from '../../src/contract.ts';
import { COUNTED, countSince, countSinceWork, type CountedRun } from '../../src/counters.ts';
import type { MaintenanceLine } from '../../src/counter-answer.ts';
import { controlChart } from '../../src/drift-chart.ts';
import { DRIFT_MEASURES } from '../../src/drift-measure.ts';
import { DRIFT_NUMBERS, explainDrift } from '../../src/explain-drift.ts';
import { explain, WINDOW_NUMBERS } from '../../src/explain.ts';
import { explanationOf } from '../../src/explain-frame.ts';
import { explainNow, NOW_NUMBERS } from '../../src/explain-now.ts';
import { COUNTER_NUMBERS, explainDue, explainTotal, explainUnseen, explainUsed } from '../../src/explain-use.ts';
import { explanation as shape, type Draft } from '../../src/explanation.ts';
import { dueText, maintenanceDue } from '../../src/maintenance-due.ts';
import { chamberTile } from '../../src/tile.ts';
import { windowNumbers } from '../../src/window.ts';
import { rulesBySignals as rules } from '../scenarios/scenario-rules.ts';
import { DAY, HOUR } from './recorded-runs.ts';
import { observeAll, readingsOfStory, runWith } from './story.ts';

const isOnWire = (draft: Draft): boolean => {
  const told = explanationOf({ number: 'x', chamber: 'PC-01', offset: 0, limit: 1000 }, draft, { span: { from: 0, to: 1 } });
  return shape.safeParse(told).success;
};
const made = ({ numerator, denominator, scale }: Draft): number => (scale * (numerator?.amount ?? NaN)) / (denominator?.amount ?? 1);

describe('a control chart explained', () => {
  const calm = (i: number): number => 137 + ([0, 1, -1, 1.5, -1.5][i % 5] as number);
  const values = Array.from({ length: 60 }, (_, i) => (i === 32 ? 400 : i === 40 ? null : i >= 55 ? 150 : calm(i)));
  const runs = values.map((value, i) => ({ run: `R${i}`, at: i, value, good: i !== 33 }));
  const chart = controlChart({ measure: DRIFT_MEASURES['pump-down-first'], runs, maintenance: [9.5], baselineRuns: 25 });
  const given = {
    ...{ chamber: 'PC-07', label: 'start of pump-down', chart, units: { pressure: 'mTorr', flow: 'sccm' } },
    series: { name: 'pump-down-first' as const, recipe: null, line: null },
  };

  test('[XD1] what is usual and its limits are those of the chart; the runs of the baseline and the one left out lead to it', () => {
    const usual = explainDrift('drift-usual', given);
    expect([usual.value, usual.low, usual.high]).toEqual([chart.limits?.usual, chart.limits?.lower, chart.limits?.upper]);
    const kept = usual.madeOf.filter(({ counts }) => counts === 'baseline').map(({ amount }) => amount as number);
    expect(kept.reduce((sum, value) => sum + value, 0) / kept.length).toBeCloseTo(usual.value as number, 9);
    expect(usual.madeOf.filter(({ counts }) => counts === 'left out').map(({ run, amount }) => [run, amount])).toEqual([['R32', 400]]);
    expect(usual.excluded).toMatchObject([{ label: '1 run', ms: null }]);
    expect(isOnWire(usual)).toBe(true);
  });

  test('[XD1] a change is that of the verdict, with the runs since it began', () => {
    const change = explainDrift('drift-change', given);
    const { verdict } = chart;
    if (verdict.state !== 'shifted') throw new Error(verdict.state);
    expect(change).toMatchObject({ value: verdict.change, unit: 's', worked: expect.stringMatching(/^150 s - 137 s {2}= {2}13\.\d s$/) });
    expect(change.madeOf.map(({ run }) => run)).toEqual(['R55', 'R56', 'R57', 'R58', 'R59']);
    const calmChart = {
      ...given,
      chart: controlChart({ measure: DRIFT_MEASURES['pump-down-first'], runs: runs.slice(0, 32), maintenance: [] }),
    };
    expect(explainDrift('drift-change', calmChart)).toMatchObject({ value: null, worked: 'nothing has shifted: steady' });
  });
});

describe('counters explained', () => {
  /** Pump hours a week, one run a day, six minutes unseen in each. */
  const weeks = (...use: readonly number[]): readonly CountedRun[] => {
    let pumpMs = 0;
    return Array.from({ length: use.length * 7 + 1 }, (_, day) => {
      if (day > 0) pumpMs += ((use[Math.floor((day - 1) / 7)] as number) * HOUR) / 7;
      const counts = { pumpMs, rfMs: pumpMs / 4, runs: day, unobservedMs: day * HOUR * 0.1 };
      return { at: day * DAY, counts, meters: { pumpS: null, rfS: null, cycles: null } };
    });
  };
  const runs = weeks(80, 120, 80, 120);
  const of = { chamber: 'PC-01', runs, counted: 'pump-hours' as const };

  function lineOf(every: number, since: number | null): MaintenanceLine {
    const work = since === null ? [] : [{ at: since, parts: ['pump'] as const }];
    const count = countSinceWork(runs, 'pump-hours', { part: 'pump', work });
    const due = maintenanceDue({ runs, interval: { counted: 'pump-hours', every: every * HOUR }, used: count.own, since });
    const days = due.state === 'due' ? { early: due.early, likely: due.likely, late: due.late } : { early: null, likely: null, late: null };
    return {
      ...{ chamber: 'PC-01', name: 'Pump oil', part: 'pump', counted: 'pump-hours', every: every * HOUR, used: count.own, ...days },
      ...{ since: count.since, isSinceWork: count.isSinceWork, unobservedMs: count.unobservedMs, left: every * HOUR - count.own },
      ...{ state: due.state, overdueSince: due.state === 'overdue' ? due.since : null, due: dueText(due, 'pump-hours', 'Europe/Berlin') },
    };
  }

  test('[XK1] a total is the sum of what each run added, unobserved time told as left out', () => {
    for (const counted of COUNTED) {
      const total = countSince(runs, counted, null);
      const draft = explainTotal(total, { ...of, counted });
      expect([counted, draft.value]).toEqual([counted, total.own]);
      expect(made(draft)).toBeCloseTo(total.own, 3);
      expect(draft.excluded).toMatchObject([{ label: 'unobserved', ms: total.unobservedMs }]);
      expect(isOnWire({ ...draft, excluded: [] })).toBe(true);
    }
    const unseen = explainUnseen(countSince(runs, 'runs', null).unobservedMs, of);
    expect(made(unseen)).toBeCloseTo(unseen.value as number, 3);
  });

  test('[XK1] used since work on the part counts the runs after it alone', () => {
    const line = lineOf(600, 14 * DAY);
    const draft = explainUsed(line, of);
    expect([draft.value, Math.round(line.used / HOUR)]).toEqual([line.used, 200]);
    expect(made(draft)).toBeCloseTo(line.used, 3);
    expect([draft.madeOf.length, draft.words]).toEqual([14, 'pump time since work on the pump']);
  });

  test('[XK2] what is left over the mean use of the weeks is the time to the likely day; overdue has no day', () => {
    const line = lineOf(600, null);
    const draft = explainDue(line, of);
    expect(draft.value).toBe((line.likely as number) - 28 * DAY);
    expect(made(draft)).toBeCloseTo(draft.value as number, -1);
    expect(draft.denominator?.parts.map(({ amount }) => Math.round(amount / HOUR))).toEqual([30, 20, 30, 20]);
    expect([draft.low, draft.high]).toEqual([(line.early as number) - 28 * DAY, (line.late as number) - 28 * DAY]);
    expect(explainDue(lineOf(300, null), of)).toMatchObject({ value: null, denominator: null, worked: expect.stringContaining('overdue') });
  });
});

describe('what a chamber’s page counts, explained', () => {
  const START = Date.parse('2026-11-25T06:00:00Z');
  function tileAt(minutes: number): ChamberTile {
    const now = START + minutes * 60_000;
    const { state: seen } = observeAll(
      rules,
      readingsOfStory(runWith()).filter((each) => each.at <= now),
    );
    const durations = { 'pump-down/': [100_000, 140_000, 180_000], 'plasma/1': [600_000, 620_000], 'vent/': [80_000, 90_000, 100_000] };
    const state = { ...seen, learned: [{ recipe: 'DSM-PI-25', durations }] };
    const place = { name: 'Chamber 1', bay: 'Birch', floor: { column: 1, row: 1 } };
    return tileShape.parse(chamberTile({ rules, state, place, scheduledNow: true, now, told: null, link: 'live', skewMs: null }));
  }

  test('[XW1] the finish sums the stretches still to come, its range is that of the tile', () => {
    for (const minutes of [7, 9, 15]) {
      const tile = tileAt(minutes);
      const now = START + minutes * 60_000;
      const draft = explainNow('finish', tile, now) as Draft;
      const finish = tile.run?.finish;
      expect([draft.value, draft.low, draft.high]).toEqual([finish?.likely, finish?.early, finish?.late].map((at) => (at ?? 0) - now));
      expect([minutes, made(draft)]).toEqual([minutes, draft.value]);
    }
  });

  test('[XW1] times that run on count from the moment they name; what a chamber does not have has no explanation', () => {
    const [running, waiting] = [tileAt(9), tileAt(34)];
    const now = START + 34 * 60_000;
    const elapsed = explainNow('elapsed', running, now) as Draft;
    expect([elapsed.value, made(elapsed)]).toEqual([now - (running.run?.startedAt ?? 0), elapsed.value]);
    expect(elapsed.madeOf.map(({ text }) => text)).toEqual(['pump-down', 'gas-stabilisation', 'plasma step 1']);
    expect(elapsed.numerator?.parts).toHaveLength(3);
    expect(explainNow('waiting-time', waiting, now)?.value).toBe(now - (waiting.waitingSince ?? 0));
    expect(explainNow('waiting-time', running, now)).toBeNull();
    expect(explainNow('finish', waiting, now)).toBeNull();
    for (const number of NOW_NUMBERS) {
      const draft = explainNow(number, waiting, now);
      if (draft) expect([number, isOnWire(draft)]).toEqual([number, true]);
    }
  });
});

test('no name is one of a window and of now at once', () => {
  const now = [...DRIFT_NUMBERS, ...NOW_NUMBERS, ...COUNTER_NUMBERS] as readonly string[];
  const window = windowNumbers([], { from: 0, to: HOUR }, { zone: 'UTC', shifts: [], holidays: [] });
  for (const name of now) {
    expect([name, WINDOW_NUMBERS.includes(name)]).toEqual([name, false]);
    expect([name, explain({ number: name, chamber: null, offset: 0, limit: 1 }, window)]).toEqual([name, null]);
  }
});
