/**
 * How soon a drift is noticed and what is named as its cause, and how often a drift is told where there is none: the simulated plant at its history
 * pace, through the site file's tag table, the reducer and the run record, judged after every run by the very rules of the product.
 * `node tests/accuracy/drift.ts [months] [calm plants] [trials] [first seed]` prints the tables. The rules were tuned on the plants from seed 1 on;
 * docs/drift.md tells what others gave. Simulator and rules share their authors' assumptions about chambers: the figures show what the rules do on
 * that model, not what a real chamber gives.
 */
import { siteCore } from '../../gateway/core.ts';
import { HistoryIntake } from '../../gateway/history-intake.ts';
import { writeHistory } from '../../gateway/simulator/history.ts';
import type { ChamberState as PlantChamber } from '../../gateway/simulator/chamber-state.ts';
import { createPlant, restorePlant } from '../../gateway/simulator/plant.ts';
import type { FaultOrder } from '../../gateway/simulator/plant-port.ts';
import type { SimulatedPlant } from '../../gateway/simulator/plant.ts';
import type { PlantState } from '../../gateway/simulator/plant-state.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import { TraceRecorder } from '../../gateway/trace-recorder.ts';
import { causesOfChamber, chamberDrift } from '../../src/chamber-drift.ts';
import type { ChamberDrift } from '../../src/chamber-drift.ts';
import { runFigures } from '../../src/drift-series.ts';
import type { RunFigures } from '../../src/drift-series.ts';
import type { EventOf } from '../../src/event.ts';
import { median } from '../../src/stats.ts';
import { demoSite } from './plant-feed.ts';

const DAY = 86_400_000;
const MONTH_DAYS = 30;
const CHAMBERS = Array.from({ length: 12 }, (_, i) => `PC-${String(i + 1).padStart(2, '0')}`);
const FROM = Date.UTC(2026, 0, 5, 5);

/** What is done to one chamber: an order as anybody may give it, or a change to the plant's own state that no order makes. */
export type Trial = {
  readonly label: string;
  readonly chamber: string;
  readonly order?: Pick<FaultOrder, 'fault' | 'size'>;
  readonly change?: (chamber: PlantChamber) => void;
};
export type Told = ReadonlyMap<string, readonly RunFigures[]>;

/** The figures of every chamber's runs over `days`; `trials` begin after `calmDays`. Nothing else drifts. */
export async function plantRuns(order: { seed: number; days: number; calmDays?: number; trials?: readonly Trial[] }): Promise<Told> {
  const site = demoSite();
  const core = siteCore(site);
  const told = new Map<string, RunFigures[]>(CHAMBERS.map((id) => [id, []]));
  const memory = memoryStore();
  const ended = new Map<string, EventOf<'run-ended'>>();
  const store = {
    ...memory,
    append: async ({ events }: Parameters<typeof memory.append>[0]) => {
      for (const event of events) {
        if (event.kind === 'run-ended') ended.set(event.run, event);
        if (event.kind === 'run-record')
          told.get(event.chamber)?.push(runFigures({ ...(ended.get(event.run) as EventOf<'run-ended'>), record: event.record }));
      }
      return [];
    },
  };
  const to = FROM + order.days * DAY;
  const intake = new HistoryIntake({ site, core, store, recorder: new TraceRecorder({ store }), from: FROM, tracesFrom: Infinity });
  let plant = quiet(createPlant({ seed: order.seed, from: FROM }), []);
  const give = (batch: Parameters<typeof intake.take>[0]): Promise<void> => intake.take(batch);
  if (order.trials !== undefined) {
    await writeHistory({ plant, to: FROM + (order.calmDays ?? 0) * DAY, give });
    plant = quiet(plant, order.trials);
    for (const { chamber, order: fault } of order.trials)
      if (fault !== undefined) plant.inject({ ...fault, chamber, durationMs: 60 * DAY });
  }
  await writeHistory({ plant, to, give });
  await intake.end(to, new Map());
  return told;
}

function quiet(plant: SimulatedPlant, trials: readonly Trial[]): SimulatedPlant {
  const state = plant.snapshot() as PlantState;
  state.story.quiet = true;
  for (const { chamber, change } of trials) change?.(state.chambers[CHAMBERS.indexOf(chamber)] as PlantChamber);
  return restorePlant(state);
}

const judged = (chamber: string, runs: readonly RunFigures[]): ChamberDrift => chamberDrift(chamber, { runs, work: [] });
const shiftsOf = ({ verdicts }: ChamberDrift): readonly string[] =>
  verdicts.filter(({ verdict }) => verdict.state === 'shifted').map(({ name, line, recipe }) => `${name} ${line ?? ''} ${recipe ?? ''}`);

export type Noticed = {
  readonly label: string;
  readonly chamber: string;
  /** Runs and hours until the first figure was called shifted that was not before; null: never in the time watched. */
  readonly runs: number | null;
  readonly hours: number | null;
  readonly figure: string | null;
  /** Named first when noticed, and at the end. */
  readonly first: string | null;
  readonly last: string | null;
};

/** After each run since the trial began. */
export function noticed({ label, chamber }: Trial, runs: readonly RunFigures[], from: number): Noticed {
  const before = runs.filter(({ at }) => at <= from);
  const known = new Set(shiftsOf(judged(chamber, before)));
  const causeOf = (found: ChamberDrift): string | null => causesOfChamber(found)?.causes[0]?.cause ?? null;
  const last = causeOf(judged(chamber, runs));
  for (let n = before.length + 1; n <= runs.length; n++) {
    const found = judged(chamber, runs.slice(0, n));
    const figure = shiftsOf(found).find((shift) => !known.has(shift));
    if (figure === undefined) continue;
    const at = (runs[n - 1] as RunFigures).at;
    return { label, chamber, runs: n - before.length, hours: (at - from) / 3_600_000, figure, first: causeOf(found), last };
  }
  return { label, chamber, runs: null, hours: null, figure: null, first: null, last };
}

export type FalseSignals = {
  readonly months: number;
  readonly shifts: number;
  readonly warnings: number;
  readonly odd: number;
  readonly by: ReadonlyMap<string, number>;
};

/** Each time a figure becomes shifted, a chamber gets its first shift, and a run is odd, after every run of a plant in which nothing drifts. */
export function falseSignals(told: Told, days: number): FalseSignals {
  let [shifts, warnings, odd] = [0, 0, 0];
  const by = new Map<string, number>();
  for (const [chamber, runs] of told) {
    let stood: readonly string[] = [];
    for (let n = 1; n <= runs.length; n++) {
      const found = judged(chamber, runs.slice(0, n));
      const now = shiftsOf(found);
      const fresh = now.filter((shift) => !stood.includes(shift));
      shifts += fresh.length;
      warnings += stood.length === 0 && now.length > 0 ? 1 : 0;
      for (const shift of fresh) by.set(shift.split(' ')[0] as string, (by.get(shift.split(' ')[0] as string) ?? 0) + 1);
      const last = runs[n - 1] as RunFigures;
      odd += found.verdicts.filter(({ verdict }) => verdict.state === 'odd-run' && verdict.since.at === last.at).length;
      stood = now;
    }
  }
  return { months: (told.size * days) / MONTH_DAYS, shifts, warnings, odd, by };
}

const change =
  (edit: (health: PlantChamber['health'], chamber: PlantChamber) => void) =>
  (chamber: PlantChamber): void =>
    edit(chamber.health, chamber);
const M = CHAMBERS.slice(4, 10);
const trial = (label: string, of: Omit<Trial, 'label' | 'chamber'>): Omit<Trial, 'chamber'> => ({ label, ...of });

/** For the chambers of the drill bay (450 L), six at a time; the others stay calm. */
export const TRIALS: readonly Omit<Trial, 'chamber'>[] = [
  trial('leak 25 mTorr/min', { order: { fault: 'leak', size: 25 } }),
  trial('leak 50 mTorr/min', { order: { fault: 'leak', size: 50 } }),
  trial('leak 140 mTorr/min', { order: { fault: 'leak', size: 140 } }),
  trial('leak 300 mTorr/min', { order: { fault: 'leak', size: 300 } }),
  trial('pump speed −1 % a day', { order: { fault: 'pump-wear', size: 1 } }),
  trial('pump speed −5.5 % a day', { order: { fault: 'pump-wear', size: 5.5 } }),
  trial('Roots pump not turning', { change: change((_, chamber) => (chamber.boosterRunning = false)) }),
  trial('ultimate pressure 8 → 30 mTorr', { change: change((health) => (health.ultimate = 30)) }),
  trial('fore-line conductance a quarter', { change: change((health) => (health.foreline = 0.25)) }),
  trial('wet loads ×1.5', { change: change((health) => (health.wetness = 1.5)) }),
  trial('wet loads ×2', { change: change((health) => (health.wetness = 2)) }),
  trial('match hunting 22 %', { order: { fault: 'match-hunting', size: 22 } }),
  trial('match hunting 5 %', { order: { fault: 'match-hunting', size: 5 } }),
  trial('O2 controller zero +0.8 % of full scale', {
    change: change((health) => (health.flowZero[0] = (health.flowZero[0] as number) + 0.008)),
  }),
  trial('O2 controller delivers +8 %', { change: change((health) => (health.flowTruth[0] = 1.08 * (health.flowTruth[0] as number))) }),
  trial('CF4 controller −3 % a day', { order: { fault: 'mfc-drift', size: -3 } }),
  trial('CF4 controller −15 % at once', { change: change((health) => (health.flowTruth[1] = 0.85 * (health.flowTruth[1] as number))) }),
  trial('nothing', {}),
];
export const CALM_DAYS = 28;
export const WATCHED_DAYS = 14;

/** Every trial once per seed, each time in another chamber. */
export async function allTrials(seeds: readonly number[]): Promise<readonly Noticed[]> {
  const found: Noticed[] = [];
  for (const seed of seeds) {
    for (let first = 0; first < TRIALS.length; first += M.length) {
      const trials = TRIALS.slice(first, first + M.length).map((each, i): Trial => ({
        ...each,
        chamber: M[(i + seed) % M.length] as string,
      }));
      const told = await plantRuns({ seed, days: CALM_DAYS + WATCHED_DAYS, calmDays: CALM_DAYS, trials });
      for (const each of trials) found.push(noticed(each, told.get(each.chamber) ?? [], FROM + CALM_DAYS * DAY));
    }
  }
  return found;
}

export function trialTable(found: readonly Noticed[]): string {
  const line = (label: string): string => {
    const of = found.filter((each) => each.label === label);
    const seen = of.filter(({ runs }) => runs !== null);
    const middle = (values: readonly (number | null)[]): string => (seen.length === 0 ? '–' : median(values.map(Number)).toFixed(0));
    return `| ${[label, `${seen.length} of ${of.length}`, middle(seen.map(({ runs }) => runs)), middle(seen.map(({ hours }) => hours)), counted(seen.map(({ first }) => first)), counted(of.map(({ last }) => last))].join(' | ')} |`;
  };
  return [
    '| condition | noticed | runs | hours | named first when noticed | named first after two weeks |',
    '| --- | --- | --- | --- | --- | --- |',
    ...TRIALS.map(({ label }) => line(label)),
  ].join('\n');
}

function counted(causes: readonly (string | null)[]): string {
  const by = Map.groupBy(causes, (cause) => (cause === null ? 'none' : (cause.split(/[:,]/)[0] as string)));
  return [...by]
    .toSorted((a, b) => b[1].length - a[1].length)
    .map(([cause, of]) => `${of.length}× ${cause}`)
    .join(', ');
}

export function falseTable({ months, shifts, warnings, odd, by }: FalseSignals): string {
  const rate = (count: number): string =>
    `${count} in ${months.toFixed(0)} chamber-months: ${(count / months).toFixed(3)} per chamber-month`;
  return [
    `figures called shifted: ${rate(shifts)}`,
    `chambers warned of: ${rate(warnings)}`,
    `odd runs: ${rate(odd)}`,
    `by figure: ${
      [...by]
        .toSorted((a, b) => b[1] - a[1])
        .map(([name, count]) => `${name} ${count}`)
        .join(', ') || 'none'
    }`,
  ].join('\n');
}

function together(all: readonly FalseSignals[]): FalseSignals {
  const sum = (of: (one: FalseSignals) => number): number => all.reduce((total, one) => total + of(one), 0);
  const by = new Map<string, number>();
  for (const one of all) for (const [name, count] of one.by) by.set(name, (by.get(name) ?? 0) + count);
  return {
    months: sum((one) => one.months),
    shifts: sum((one) => one.shifts),
    warnings: sum((one) => one.warnings),
    odd: sum((one) => one.odd),
    by,
  };
}

/** The calm plants are others than those of the trials. */
const CALM_SEEDS_AFTER = 10;

if (import.meta.main) {
  const [months = 3, plants = 1, trials = 2, seed = 1] = process.argv.slice(2).map(Number);
  const seeds = (from: number, count: number): readonly number[] => Array.from({ length: count }, (_, i) => from + i);
  const days = months * MONTH_DAYS;
  const found: FalseSignals[] = [];
  for (const calm of seeds(seed + CALM_SEEDS_AFTER, plants)) found.push(falseSignals(await plantRuns({ seed: calm, days }), days));
  console.log(falseTable(together(found)));
  console.log(trialTable(await allTrials(seeds(seed, trials))));
}
