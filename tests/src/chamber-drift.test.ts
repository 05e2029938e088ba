import { describe, expect, test } from 'vitest';
import { causesOfChamber, chamberDrift, driftWarnings, symptomsOf, worst, worstOf } from '../../src/chamber-drift.ts';
import type { ChamberDrift } from '../../src/chamber-drift.ts';
import type { DriftVerdict } from '../../src/drift.ts';
import { runFigures } from '../../src/drift-series.ts';
import type { RecordedRun } from '../../src/drift-series.ts';
import { DAY, HOUR, recordedRun, recordOf, runsUnder } from './recorded-runs.ts';
import type { Condition } from './recorded-runs.ts';

const judged = (runs: readonly RecordedRun[]): ChamberDrift => chamberDrift('PC-07', { runs: runs.map(runFigures), work: [] });
const under = (condition: Condition): ChamberDrift => judged(runsUnder(condition, { runs: 60, faultFrom: 40, seed: 7 }));
const slow: Condition = { first: 114, middle: 18, tail: 20, plasma: 313 };

describe('a chamber as a whole', () => {
  test('[CD1] a recipe not run for 35 days is judged no more', () => {
    const old = runsUnder({}, { runs: 30, faultFrom: 99, seed: 1 }).map((run) => ({ ...run, recipe: 'ETB-RF-43' }));
    const late = runsUnder({}, { runs: 30, faultFrom: 99, seed: 2 }).map((run) => ({ ...run, at: run.at + 40 * DAY }));
    expect(judged([...old, ...late]).recipes).toEqual(['DSM-PI-25']);
    expect(judged([...old, ...late.map((run) => ({ ...run, at: run.at - 10 * DAY }))]).recipes).toHaveLength(2);
  });

  test('[CD2] the worst verdict of recipes and lines stands for the chamber', () => {
    const learning: DriftVerdict = { state: 'learning', runs: 3, needed: 20 };
    const steady: DriftVerdict = { state: 'steady', usual: 1, sigma: 1, runs: 5, lean: 0 };
    const shifted = (changeShare: number): DriftVerdict => ({
      ...{
        state: 'shifted',
        value: 1,
        usual: 1,
        sigma: 1,
        change: 1,
        changeShare,
        since: { run: 'r', at: 1 },
        runsSince: 1,
        lastShownAt: 1,
        reasons: [],
      },
    });
    const of = (...verdicts: DriftVerdict[]): DriftVerdict | undefined => worst(verdicts.map((verdict) => ({ verdict })))?.verdict;
    expect(of(learning, steady)).toBe(steady);
    expect(of(steady, shifted(0.1), shifted(-0.3), learning)).toMatchObject({ changeShare: -0.3 });
    expect(of({ ...shifted(0.9), state: 'odd-run' } as DriftVerdict, shifted(0.1))).toMatchObject({ state: 'shifted' });
    expect(worst([])).toBeNull();
  });

  test('[CD3] pump wear is told as pump speed, by the first part of the pump-down of all recipes together', () => {
    const found = under(slow);
    expect(worstOf(found, 'pump-down-first')).toMatchObject({ recipe: null, verdict: { state: 'shifted' } });
    expect(causesOfChamber(found)?.causes[0]?.cause).toMatch(/^pump speed/);
    expect(symptomsOf('DSM-PI-25', found.verdicts)['rate-of-rise']).toEqual({ state: 'learning', runs: 0, needed: 5 });
  });

  test('[CD5] a leak test from before the shift says nothing of it; one after it does', () => {
    const runs = runsUnder({ plasma: 306 }, { runs: 60, faultFrom: 40, seed: 7 });
    const test = (at: number, rateOfRisePaPerS: number) =>
      recordedRun(at, { recipe: 'LKT-05', engineering: true, load: null, record: recordOf({ rateOfRisePaPerS }) });
    const before = [5, 10, 15, 20, 25, 30].map((h, i) => test(h * HOUR + 1, 0.02 + 0.001 * (i % 2)));
    const named = (after: readonly RecordedRun[]): string[] | undefined =>
      causesOfChamber(judged([...runs, ...before, ...after].toSorted((a, b) => a.at - b.at)))?.causes.map(({ cause }) => cause);
    expect(named([])?.[0]).toBe('leak');
    expect(named([test(55 * HOUR + 1, 0.02)])).toEqual(['flow controller delivering more than it shows']);
    expect(named([test(55 * HOUR + 1, 0.3)])).toEqual(['leak']);
  });

  test('[CD6] a chamber repaired since the recipe was last run explains nothing: it is weighed as of that run, and said to be old', () => {
    const worn = runsUnder(slow, { runs: 60, faultFrom: 40, seed: 7 });
    const repaired = runsUnder({}, { runs: 40, faultFrom: 99, seed: 8 }).map((run) => ({
      ...run,
      at: run.at + 63 * HOUR,
      recipe: 'ETB-RF-43',
    }));
    const found = judged([...worn, ...repaired]);
    expect(worstOf(found, 'pump-down-first')?.verdict.state).toBe('steady');
    expect(causesOfChamber(found)).toMatchObject({ recipe: 'DSM-PI-25', causes: [{ cause: expect.stringMatching(/^pump speed/) }] });
    expect(driftWarnings([found])[0]?.text).toContain('with DSM-PI-25, not run for 1 d since.');
  });

  test('[CD3] without a shift there is nothing to weigh', () => {
    expect(causesOfChamber(under({}))).toBeNull();
  });

  test('[CD4] one sentence for the chamber: what shifted, what it points to, where to look first', () => {
    const [warning, ...others] = driftWarnings([under(slow), { ...under({}), chamber: 'PC-08' }]);
    expect(others).toEqual([]);
    expect(warning).toMatchObject({ chamber: 'PC-07' });
    expect(warning?.text).toMatch(
      /^First part of the pump-down 1[01]\.?\d? s longer \(1[01] %\): 11[345] s, usually 10[23] s, for \d+ runs\. Points to pump speed: .+ Check the belt/,
    );
    expect(warning?.since).toBeGreaterThanOrEqual(39 * HOUR);
    expect(warning?.since).toBeLessThanOrEqual(42 * HOUR);
  });

  test('[CD4] a single odd run is no warning', () => {
    const runs = runsUnder({}, { runs: 40, faultFrom: 99, seed: 3 });
    const odd = recordedRun(41 * HOUR, { record: { ...(runs[0] as RecordedRun).record, plasmaPressurePa: 60 } });
    const found = judged([...runs, odd]);
    expect(worstOf(found, 'plasma-pressure')?.verdict.state).toBe('odd-run');
    expect(driftWarnings([found])).toEqual([]);
  });
});
