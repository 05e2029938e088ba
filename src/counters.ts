/**
 * What a chamber has done, in pump hours, RF hours and runs: since it was first watched, and since the last maintenance of a part.
 * [CO1] The count is our own integral, as the run records hold it; the machine's meter is a cross-check and nothing more.
 * [CO2] Since maintenance is the count now less the count at the last run's end before the work was done. Before any work was told it is since first
 *       watched, and says so.
 * [CO3] Time nobody observed is in no count; how much there was is told beside it.
 * [CO4] The machine's meter is compared over the runs of the same time, by the meter rule (meter.ts).
 */
import type { WorkedOn } from './equipment.ts';
import type { RunRecord } from './run-facts.ts';
import type { MeterGain, MeterKind } from './meter.ts';
import { CYCLE_METER, HOUR_METER, meterGain } from './meter.ts';
import type { Work } from './drift-reset.ts';

export const COUNTED = ['pump-hours', 'rf-hours', 'runs'] as const;
/** What maintenance intervals are counted in. */
export type Counted = (typeof COUNTED)[number];

/** The counts at one run's end, ascending in time; ms and runs. */
export type CountedRun = { readonly at: number; readonly counts: RunRecord['counts']; readonly meters: RunRecord['meters'] };

export type Count = {
  /** Hours in ms, runs as they are. */
  readonly own: number;
  readonly unobservedMs: number;
  /** Since when; null when no run was counted yet. `isSinceWork`: a person told work on the part then. */
  readonly since: number | null;
  readonly isSinceWork: boolean;
  /** The machine's own meter between the ends of the first and last run of that time, in the same unit, and our own count of exactly that; null where it
   *  has none. */
  readonly meter: (MeterGain & { readonly own: number }) | null;
};

const ZERO: RunRecord['counts'] = { pumpMs: 0, rfMs: 0, runs: 0, unobservedMs: 0 };

export const ownCount = (counts: RunRecord['counts'], counted: Counted): number =>
  counted === 'runs' ? counts.runs : counted === 'pump-hours' ? counts.pumpMs : counts.rfMs;

/** The count at an instant: that of the last run's end until then, zero before the first. */
export function countAt(runs: readonly CountedRun[], at: number): RunRecord['counts'] {
  return runs.findLast((run) => run.at <= at)?.counts ?? ZERO;
}

/** [CO1] [CO3] [CO4] From `since` on, or from the first word. `runs` ascending. */
export function countSince(runs: readonly CountedRun[], counted: Counted, since: number | null): Count {
  const last = runs.at(-1);
  const from = since === null ? ZERO : countAt(runs, since);
  const to = last?.counts ?? ZERO;
  return {
    own: ownCount(to, counted) - ownCount(from, counted),
    unobservedMs: to.unobservedMs - from.unobservedMs,
    since: since ?? runs[0]?.at ?? null,
    isSinceWork: since !== null,
    meter: meterSince(runs, counted, since),
  };
}

/** [CO2] */
export function countSinceWork(
  runs: readonly CountedRun[],
  counted: Counted,
  { part, work }: { part: WorkedOn; work: readonly Work[] },
): Count {
  const last = work.filter(({ parts }) => parts.includes(part)).map(({ at }) => at);
  return countSince(runs, counted, last.length === 0 ? null : Math.max(...last));
}

type Meter = { readonly of: keyof RunRecord['meters']; readonly kind: MeterKind; readonly gain: number };
const METERS: Readonly<Record<Counted, Meter>> = {
  'pump-hours': { of: 'pumpS', kind: HOUR_METER, gain: 1000 },
  'rf-hours': { of: 'rfS', kind: HOUR_METER, gain: 1000 },
  runs: { of: 'cycles', kind: CYCLE_METER, gain: 1 },
};

/** [CO4] */
function meterSince(runs: readonly CountedRun[], counted: Counted, since: number | null): Count['meter'] {
  const { of, kind, gain } = METERS[counted];
  const first =
    since === null
      ? 0
      : Math.max(
          0,
          runs.findLastIndex(({ at }) => at <= since),
        );
  const told = runs.slice(first).filter(({ meters }) => meters[of] !== null);
  const [begin, end] = [told[0], told.at(-1)];
  if (begin === undefined || end === undefined) return null;
  const found = meterGain(
    told.map(({ at, meters }) => ({ at, value: meters[of] as number })),
    kind,
  );
  return { ...found, gained: found.gained * gain, own: ownCount(end.counts, counted) - ownCount(begin.counts, counted) };
}
