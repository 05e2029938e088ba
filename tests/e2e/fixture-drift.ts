/** Answers about drift and maintenance for the double of the gateway: PC-07's pump wears, all else is calm. Judged by the product's own rules. */
import type { ChamberTile } from '../../src/contract.ts';
import type { Counters } from '../../src/counter-answer.ts';
import { causesOfChamber, chamberDrift, driftInput } from '../../src/chamber-drift.ts';
import type { ChamberDriftAnswer, DriftFleet } from '../../src/drift-answer.ts';
import { chamberCells, driftCell, measureLine, measureLines, NOT_CHECKABLE, siteMeasure } from '../../src/drift-cell.ts';
import { controlChart } from '../../src/drift-chart.ts';
import { runFigures } from '../../src/drift-series.ts';
import { HOUR, runsUnder } from '../src/recorded-runs.ts';

const measure = siteMeasure('mTorr');
const words = { gases: { 1: 'O2', 2: 'CF4' }, measure };
const plain = <T>(value: unknown): T => JSON.parse(JSON.stringify(value)) as T;

function workedOf(chamber: string, now: number) {
  const condition = chamber === 'PC-07' ? { first: 114, middle: 18, tail: 20, plasma: 313 } : {};
  const runs = runsUnder(condition, { runs: 60, faultFrom: 40, seed: 7 }).map((run) =>
    runFigures({ ...run, at: now - 61 * HOUR + run.at }),
  );
  return { runs, work: [] };
}

export function driftOf(tiles: readonly ChamberTile[], now: number): DriftFleet {
  const chambers = tiles.map(({ chamber }) => {
    const found = chamberDrift(chamber, workedOf(chamber, now), measure);
    const causes = causesOfChamber(found);
    return {
      chamber,
      recipes: found.recipes,
      cells: chamberCells(found, words),
      pointsTo: causes && { recipe: causes.recipe, causes: causes.causes },
    };
  });
  return plain({ at: now, measures: measureLines(measure), chambers, notCheckable: NOT_CHECKABLE });
}

export function chamberDriftOf(chamber: string, now: number): ChamberDriftAnswer {
  const worked = workedOf(chamber, now);
  const found = chamberDrift(chamber, worked, measure);
  const shown = found.verdicts.find(({ name }) => name === 'pump-down-first')!;
  const { limits, points } = controlChart(driftInput(worked, { key: { name: shown.name, line: null }, recipe: null }));
  return plain({
    at: now,
    chamber,
    recipe: found.recipes[0] ?? null,
    recipes: found.recipes,
    cells: found.verdicts.map((each) => driftCell(each, words)).filter(({ state }) => state !== 'no-figure'),
    measures: measureLines(measure),
    chart: {
      measure: measureLine(shown.name, measure),
      cell: driftCell(shown, words),
      limits: limits && { ...limits, runs: limits.n },
      points,
      longestGapMs: 4 * 24 * HOUR,
    },
    causes: causesOfChamber(found)?.causes ?? [],
    causesAsAt: causesOfChamber(found)?.asAt ?? null,
    marks: [{ from: now - 30 * HOUR, to: now - 29 * HOUR, text: 'planned maintenance', parts: [], resets: false }],
    sisters: [{ chamber: 'PC-08', points: points.map(({ at }) => ({ at, value: 103 })) }],
    notes: [NOT_CHECKABLE],
  });
}

export function countersOf(tiles: readonly ChamberTile[], now: number): Counters {
  const totals = tiles.flatMap(({ chamber }) =>
    (['pump-hours', 'rf-hours', 'runs'] as const).map((counted) => ({
      ...{
        chamber,
        counted,
        own: counted === 'runs' ? 580 : 900 * HOUR,
        since: now - 1000 * HOUR,
        unobservedMs: HOUR,
        meter: null,
        meterNow: null,
      },
    })),
  );
  const maintenance = tiles.map(({ chamber }, i) => ({
    ...{ chamber, name: 'Pump oil and belt', part: 'pump' as const, counted: 'pump-hours' as const, every: 1000 * HOUR, used: 900 * HOUR },
    ...{ since: now - 1000 * HOUR, isSinceWork: i % 2 === 0, unobservedMs: HOUR, left: 100 * HOUR, overdueSince: null },
    ...(i === 3
      ? { state: 'overdue' as const, early: null, likely: null, late: null, due: 'overdue by 8 h, since 25 Nov' }
      : { state: 'due' as const, early: now, likely: now + HOUR, late: now + 2 * HOUR, due: 'about 12 Dec (10–15 Dec)' }),
  }));
  return { at: now, totals, maintenance };
}
