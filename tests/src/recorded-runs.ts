/** Runs with their records, made up for the tests of drift and counters: a healthy chamber of 450 L in our own model, no measurement of a real one. */
import type { RecordedRun } from '../../src/drift-series.ts';
import type { RunRecord } from '../../src/run-facts.ts';
import { random } from './random-history.ts';
import { normalQuantile } from '../../src/normal.ts';
import { TORR_PA } from '../../src/units.ts';

export const MTORR = TORR_PA / 1000;
export const HOUR = 3_600_000;
export const DAY = 24 * HOUR;

export const recordOf = (more: Partial<RunRecord> = {}): RunRecord => ({
  rules: 1,
  stretches: [],
  energyJ: 4_900_000,
  energyKnownJ: 4_900_000,
  nominalEnergyJ: 5_000_000,
  reflectedFraction: 0.02,
  vswr: 1.33,
  ignitionDelayMs: 2_000,
  stabilisationMs: 21_000,
  stableBeforeRf: true,
  rfDropouts: 0,
  pumpDown: { firstMs: 103_000, middleMs: 16_000, tailMs: 18_000, totalMs: 137_000 },
  basePressurePa: 99 * MTORR,
  plasmaPressurePa: 288 * MTORR,
  purgeMs: 60_000,
  ventMs: 97_000,
  rateOfRisePaPerS: null,
  gases: [],
  flowZero: [{ line: 1, share: 0.001 }],
  flowError: [{ line: 1, share: 0 }],
  deviations: [],
  alarms: [],
  coverage: 1,
  counts: { pumpMs: 0, rfMs: 0, runs: 0, unobservedMs: 0 },
  meters: { pumpS: null, rfS: null, cycles: null },
  ...more,
});

export const recordedRun = (at: number, more: Partial<RecordedRun> = {}): RecordedRun => ({
  run: `PC-07/${new Date(at - HOUR / 2).toISOString()}`,
  at,
  startedAt: at - HOUR / 2,
  outcome: 'completed',
  recipe: 'DSM-PI-25',
  engineering: false,
  load: 'QM-26-04117-A',
  observedMs: HOUR / 2,
  record: recordOf(),
  ...more,
});

/** What a condition does to the medians; spreads stay those of a healthy chamber. */
export type Condition = { readonly first?: number; readonly middle?: number; readonly tail?: number; readonly plasma?: number };

/** One run an hour, with the run-to-run spread of the model; from `faultFrom` on under the condition. */
export function runsUnder(
  condition: Condition,
  { runs, faultFrom, seed }: { runs: number; faultFrom: number; seed: number },
): readonly RecordedRun[] {
  const chance = random(seed);
  const near = (mean: number, sd: number): number => Math.max(1, mean + sd * normalQuantile(chance() || 1e-9));
  return Array.from({ length: runs }, (_, i) => {
    const { first = 103, middle = 16, tail = 18, plasma = 288 } = i < faultFrom ? {} : condition;
    const [a, b, c] = [near(first, 1), near(middle, 0.6), near(tail, 3.5)].map((s) => Math.round(1000 * s)) as [number, number, number];
    const pumpDown = { firstMs: a, middleMs: b, tailMs: c, totalMs: a + b + c };
    return recordedRun((i + 1) * HOUR, { record: recordOf({ pumpDown, plasmaPressurePa: near(plasma, 2.7) * MTORR }) });
  });
}
