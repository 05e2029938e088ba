/**
 * The pure core bound to one site: each chamber's rules, its ordering window, the alert watch and what is usual per chamber.
 */
import { initialWatch, LAG_MS, watchBatch, type WatchRules, type WatchState } from '../src/alert-watch.ts';
import type { BurstBaseline } from '../src/burst.ts';
import { initialChamber, observe } from '../src/chamber.ts';
import type { ChamberRules } from '../src/chamber-rules.ts';
import type { SiteFile } from '../src/config.ts';
import { admit, initialOrdering, WINDOW_MS, type Ordering } from '../src/ordering.ts';
import type { Reading } from '../src/reading.ts';
import { chamberRules } from '../src/site-rules.ts';
import type { Core } from './pipeline.ts';

const LATE_BEAT_MS = 3_000;

/** Real time from an alarm to its fact at the alert watch: publishing, putting in order, a commit, and the same again for a busy machine. */
const ON_ITS_WAY_MS = 5_000;

export type OrderCounters = { readonly late: number; readonly duplicates: number };

export type SiteCore = Core<WatchState> & {
  /** What is usual from now on. */
  setBaselines(baselines: ReadonlyMap<string, BurstBaseline>): void;
  readonly orderCounters: () => OrderCounters;
};

/** `speed`: plant time per real time. How late a value may come is a matter of networks, and so of real time. */
export function siteCore(site: SiteFile, speed = 1): SiteCore {
  const chambers = site.chambers.map((chamber) => chamber.id);
  const rules = new Map(chambers.map((id) => [id, hurriedRules(chamberRules(site, id), speed)]));
  const rulesOf = (chamber: string): ChamberRules => rules.get(chamber) as ChamberRules;
  const lagMs = Math.max(LAG_MS, ON_ITS_WAY_MS * speed);
  let watchRules: WatchRules = { chambers, positions: site.alerts.positions, baselines: new Map(), lagMs };
  const order = ordering(WINDOW_MS * speed);
  return {
    chambers,
    initialChamber: (chamber) => initialChamber(rulesOf(chamber)),
    observe: (chamber, state, reading) => observe(rulesOf(chamber), state, reading),
    order: order.take,
    initialWatch,
    watch: (state, batch) => watchBatch(watchRules, state, batch),
    setBaselines: (baselines) => (watchRules = { ...watchRules, baselines }),
    orderCounters: order.counters,
  };
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
    return { late: sum(all.map((buffer) => buffer.late)), duplicates: sum(all.map((buffer) => buffer.duplicates)) };
  };
  return { take, counters };
}

const sum = (numbers: readonly number[]): number => numbers.reduce((total, number) => total + number, 0);
