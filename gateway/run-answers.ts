/**
 * Runs as they are asked for: found by load, recipe, outcome and deviation, one with its record, its seal checked each time it is read, and beside
 * it what is usual. Long lists are read in portions, and no record is read that is not shown.
 */
import type { ChamberState } from '../src/chamber-state.ts';
import type { EventOf, RunEnded } from '../src/event.ts';
import type { ExplainedRun } from '../src/explain-run.ts';
import { Fault } from '../src/fault.ts';
import type { FoundRun } from '../src/contract.ts';
import type { RunRecordAnswer } from '../src/run-answer.ts';
import { BAND_RUNS, isGood, runBands, verdictOf } from '../src/run-band.ts';
import type { RunRecord } from '../src/run-facts.ts';
import type { RecordedRun } from '../src/run-figure.ts';
import { DAY_MS } from '../src/zone.ts';
import { askedWindow } from './asked-window.ts';
import type { Clock } from './clock.ts';
import type { RecordedRow, RunAnswers, RunSearch } from './http/answers-port.ts';
import type { Plant } from './plant.ts';
import { runDigest } from './run-digest.ts';
import type { EventStore, RunQuery, RunStore, StoredRun } from './store/store.ts';

export type RunParts = {
  readonly plant: Plant;
  readonly store: EventStore & RunStore;
  readonly clock: Clock;
  /** The committed state of a chamber. */
  readonly state: (chamber: string) => ChamberState;
};

const LONGEST_RUN_MS = 7 * DAY_MS;
const PORTION_RUNS = 500;
/** Of all sisters together, BAND_RUNS of each at most. */
const MOST_SISTER_RUNS = 100;
/** So many runs back a band looks for good ones. */
const LOOKED_AT = 4;

export function runAnswers(parts: RunParts): RunAnswers {
  return {
    runs: async (search) => (await parts.store.runs(queryOf(parts, search, search.limit))).map(foundRun),
    allRuns: (search) => rowsBack(parts, search),
    run: async (id) => {
      const run = await storedRun(parts, id);
      const recorded = await recordOf(parts.store, run);
      return foundRun({ run, deviations: recorded?.record.deviations.map(({ code }) => code) ?? null });
    },
    runRecord: (id) => recordAnswer(parts, id),
  };
}

function queryOf({ plant, clock }: RunParts, search: RunSearch, limit: number): RunQuery {
  const { load, recipe, outcome, deviation } = search;
  return {
    ...(search.chamber === null ? {} : { chambers: [plant.chamber(search.chamber).id] }),
    ...askedWindow(search.window, plant.calendar, clock.now()),
    ...(load === undefined ? {} : { load }),
    ...(recipe === undefined ? {} : { recipe }),
    ...(outcome === undefined ? {} : { outcome }),
    ...(deviation === undefined ? {} : { deviation }),
    limit,
  };
}

/** Newest first, in portions, each run with its record. */
async function* rowsBack(parts: RunParts, search: RunSearch): AsyncGenerator<readonly RecordedRow[]> {
  const query = queryOf(parts, search, PORTION_RUNS);
  let portion = await parts.store.runs(query);
  for (; portion.length > 0; portion = await parts.store.runs({ ...query, after: portion.at(-1)!.run })) {
    const records = await Promise.all(portion.map(({ run }) => recordOf(parts.store, run)));
    yield portion.map((found, i) => ({ run: foundRun(found), record: records[i]?.record ?? null }));
    if (portion.length < PORTION_RUNS) return;
  }
}

export function foundRun({ run, deviations }: StoredRun): FoundRun {
  const { kind: _kind, seq: _seq, at: endedAt, ...row } = run;
  return { ...row, endedAt, deviations: deviations === null ? null : [...new Set(deviations)] };
}

/** The id tells chamber and start: `<chamber>/<start as ISO 8601 UTC>`. */
async function storedRun({ plant, store, state }: RunParts, id: string): Promise<StoredRun['run']> {
  const cut = id.indexOf('/');
  const [name, from] = [id.slice(0, cut), Date.parse(id.slice(cut + 1))];
  if (cut < 1 || Number.isNaN(from))
    throw new Fault('invalid', 'A run is asked for as <chamber>/<start as ISO 8601 UTC>, percent-encoded.');
  const chamber = plant.chamber(name).id;
  if (state(chamber).run?.run === id) throw new Fault('not-found', 'This run is not over yet. /api/chambers/<id> shows it.');
  const found = await store.events({ chambers: [chamber], kinds: ['run-ended'], from, to: from + LONGEST_RUN_MS });
  const run = found.find((event) => event.kind === 'run-ended' && event.run === id);
  if (run?.kind !== 'run-ended') throw new Fault('not-found', 'There is no such run. /api/runs lists them.');
  return run;
}

/** Null for a run of a program that made no records yet. */
async function recordOf(store: EventStore, { chamber, at, run }: RunEnded): Promise<EventOf<'run-record'> | null> {
  const found = await store.events({ chambers: [chamber], kinds: ['run-record'], from: at, to: at + 1 });
  const event = found.find((each) => each.kind === 'run-record' && each.run === run);
  return event?.kind === 'run-record' ? event : null;
}

async function recordAnswer(parts: RunParts, id: string): Promise<RunRecordAnswer> {
  const run = await storedRun(parts, id);
  const stored = await recordOf(parts.store, run);
  if (stored === null)
    throw new Fault('not-found', 'This run has no record: it ended before records were made. /api/runs/<id> shows its phases.');
  const { record, digest } = stored;
  const { seq: _seq, ...fact } = run;
  const { rules } = parts.plant.chamber(run.chamber);
  return {
    run: foundRun({ run, deviations: record.deviations.map(({ code }) => code) }),
    fact,
    record,
    verdict: verdictOf({ run, record }),
    digest,
    intact: runDigest(fact, record) === digest,
    bands: [...(await bandsOf(parts, { run, record }))],
    gases: Object.entries(rules.gases).map(([line, { kind, fullScaleMolPerS }]) => ({ line: Number(line), kind, fullScaleMolPerS })),
    units: parts.plant.units,
  };
}

/** What the numbers of a run are explained by; a run of before records were made has no record. */
export async function explainedRun(parts: RunParts, id: string): Promise<ExplainedRun> {
  const run = await storedRun(parts, id);
  const record = (await recordOf(parts.store, run))?.record ?? null;
  return { run, record, ...(record === null ? { own: [], sisters: [] } : await comparedRuns(parts, run)) };
}

async function bandsOf(parts: RunParts, recorded: RecordedRun): Promise<RunRecordAnswer['bands']> {
  const { own, sisters } = await comparedRuns(parts, recorded.run);
  return [...runBands(recorded, own, sisters)];
}

/** Good runs of its recipe before it, of this chamber and of its sisters. */
async function comparedRuns({ plant, store }: RunParts, run: RunEnded): Promise<Pick<ExplainedRun, 'own' | 'sisters'>> {
  const { chamber, recipe, at: to } = run;
  if (recipe === null) return { own: [], sisters: [] };
  const good = { recipe, outcome: 'completed', deviation: 'none', to } as const;
  const others = plant.ids.filter((id) => id !== chamber);
  const [own, theirs] = await Promise.all([
    goodRuns(store, { ...good, chambers: [chamber], limit: LOOKED_AT * BAND_RUNS }),
    goodRuns(store, { ...good, chambers: others, limit: LOOKED_AT * MOST_SISTER_RUNS }),
  ]);
  return { own, sisters: theirs.slice(0, MOST_SISTER_RUNS) };
}

/** The newest good runs of exactly that recipe, BAND_RUNS of each chamber at most. */
async function goodRuns(store: EventStore & RunStore, query: RunQuery): Promise<readonly RecordedRun[]> {
  const found = (await store.runs(query)).map(({ run }) => run).filter(({ recipe }) => recipe === query.recipe);
  const last = [...Map.groupBy(found, ({ chamber }) => chamber).values()].flatMap((runs) => runs.slice(0, BAND_RUNS));
  const newest = last.toSorted((a, b) => b.at - a.at).slice(0, MOST_SISTER_RUNS);
  const records: readonly (RunRecord | null)[] = await Promise.all(newest.map(async (run) => (await recordOf(store, run))?.record ?? null));
  return newest.flatMap((run, i): RecordedRun[] => (records[i] ? [{ run, record: records[i] }] : [])).filter(isGood);
}
