/**
 * The pure core bound to one site: each chamber's rules, its ordering window, the alert watch and what is usual per chamber.
 */
import { initialWatch, watchBatch, type WatchState } from '../src/alert-watch.ts';
import type { BurstBaseline } from '../src/burst.ts';
import { initialChamber, observe, type Observed } from '../src/chamber.ts';
import type { ChamberRules } from '../src/chamber-rules.ts';
import type { ChamberState } from '../src/chamber-state.ts';
import type { SiteFile } from '../src/config.ts';
import type { ChamberEvent, EventOf } from '../src/event.ts';
import { admit, initialOrdering, WINDOW_MS, type Ordering } from '../src/ordering.ts';
import type { Reading } from '../src/reading.ts';
import { countsAt } from '../src/run-counts.ts';
import { runRecord } from '../src/run-record.ts';
import { chamberRules } from '../src/site-rules.ts';
import { restoredWatch } from '../src/stored-alert.ts';
import { LAG_MS, watchRules } from '../src/watch-rules.ts';
import { withoutSignals } from '../src/unmapped.ts';
import type { Core } from './pipeline.ts';
import { runDigest } from './run-digest.ts';
import { RunSamples } from './run-samples.ts';

const LATE_BEAT_MS = 3_000;

/** Real time from an alarm to its fact at the alert watch: publishing, putting in order, a commit, and the same again for a busy machine. */
const ON_ITS_WAY_MS = 5_000;

export type OrderCounters = { readonly leftOut: number; readonly duplicates: number };

export type SiteCore = Core<WatchState> & {
  /** What is usual from now on. */
  setBaselines(baselines: ReadonlyMap<string, BurstBaseline>): void;
  readonly orderCounters: () => OrderCounters;
  /** Another site file: its chambers and rules hold from now on. Between two turns only. */
  setSite(site: SiteFile): void;
  /** What was told of the running runs: for records, and to be filled again after a restart. */
  readonly runSamples: RunSamples;
};

/** `speed`: plant time per real time. How late a value may come is a matter of networks, and so of real time. */
export function siteCore(site: SiteFile, speed = 1): SiteCore {
  const rulesIn = (file: SiteFile) => new Map(file.chambers.map(({ id }) => [id, hurriedRules(chamberRules(file, id), speed)]));
  let rules: ReadonlyMap<string, ChamberRules> = rulesIn(site);
  const rulesOf = (chamber: string): ChamberRules => rules.get(chamber) as ChamberRules;
  const lagMs = Math.max(LAG_MS, ON_ITS_WAY_MS * speed);
  let watchedBy = watchRules(site, { baselines: new Map(), lagMs });
  const order = ordering(WINDOW_MS * speed);
  const runSamples = new RunSamples();
  return {
    get chambers() {
      return watchedBy.chambers;
    },
    setSite: (next) => {
      rules = rulesIn(next);
      watchedBy = watchRules(next, watchedBy);
    },
    without: (chamber, state, signals) => withoutSignals(rulesOf(chamber), state, signals),
    initialChamber: (chamber) => initialChamber(rulesOf(chamber)),
    observe: (chamber, state, reading) => {
      const step = observe(rulesOf(chamber), state, reading);
      runSamples.take(reading);
      const recorded = step.events.length === 0 ? step : { ...step, events: withRecords(rulesOf(chamber), step, runSamples) };
      runSamples.tidy(chamber, step.state);
      return recorded;
    },
    order: order.take,
    initialWatch,
    restoredWatch: (stored) => restoredWatch(stored as Record<string, unknown>, initialWatch()),
    watch: (state, batch) => watchBatch(watchedBy, state, batch),
    setBaselines: (baselines) => (watchedBy = { ...watchedBy, baselines }),
    orderCounters: order.counters,
    runSamples,
  };
}

/** A run that ends is recorded by the same step: both go into one commit, or neither. */
function withRecords(rules: ChamberRules, { state, events }: Observed, samples: RunSamples): Observed['events'] {
  samples.hear(rules.chamber, events);
  return events.flatMap((event): ChamberEvent[] =>
    event.kind === 'run-ended' ? [event, recordOf(rules, state, event, samples)] : [event],
  );
}

function recordOf(rules: ChamberRules, state: ChamberState, run: EventOf<'run-ended'>, samples: RunSamples): EventOf<'run-record'> {
  const told = { series: samples.series(run.chamber), alarms: samples.alarms(run.chamber), findings: samples.findings(run.chamber) };
  const record = runRecord({ run, rules, ...told, counts: countsAt(state, run.at) });
  return { kind: 'run-record', chamber: run.chamber, at: run.at, run: run.run, record, digest: runDigest(run, record) };
}

/** A heartbeat on its way is late in real time: in hurried plant time it is given that much longer. */
const hurriedRules = (rules: ChamberRules, speed: number): ChamberRules => ({
  ...rules,
  frozenMs: rules.frozenMs + LATE_BEAT_MS * (speed - 1),
});

/** Each chamber waits for its own late values; a chamber behind a slow server holds back no other. */
function ordering(windowMs: number): { take: Core<unknown>['order']; counters: () => OrderCounters } {
  const buffers = new Map<string, Ordering>();
  const take = (readings: readonly Reading[], now: number | null): readonly Reading[] => {
    const arrived = Map.groupBy(readings, (reading) => reading.chamber);
    for (const chamber of arrived.keys()) if (!buffers.has(chamber)) buffers.set(chamber, initialOrdering);
    const ready: Reading[] = [];
    for (const [chamber, buffer] of buffers) {
      const fresh = arrived.get(chamber) ?? [];
      if (fresh.length === 0 && buffer.waiting.length === 0) continue;
      const step = admit(buffer, fresh, now ?? Infinity, windowMs);
      buffers.set(chamber, step.buffer);
      for (const reading of step.ready) ready.push(reading);
    }
    return ready;
  };
  const counters = (): OrderCounters => {
    const all = [...buffers.values()];
    return { leftOut: sum(all.map((buffer) => buffer.leftOut)), duplicates: sum(all.map((buffer) => buffer.duplicates)) };
  };
  return { take, counters };
}

const sum = (numbers: readonly number[]): number => numbers.reduce((total, number) => total + number, 0);
