/**
 * Where time went that made no product: by cause, largest first.
 * [LO1] Lost is time in standby and in downtime; its cause is the reason that the chamber's facts give. Engineering and nonscheduled time are
 *       somebody's plan and no loss.
 * [LO2] Unobserved time is listed apart, after all causes, however long it is: it may hold anything.
 * [LO4] Lost time is also told in loads: what each chamber would have made in it at its own rate in productive time of the window, or at the
 *       fleet's where it made none. It says how large the hours are, not that work was waiting.
 * [LO3] A cause that goes on after a stretch of nonscheduled time counts as one occurrence.
 */
import type { StateInterval } from './contract.ts';
import type { EquipmentState } from './equipment.ts';
import type { Loss, WindowNumbers } from './numbers.ts';

const LOST: readonly EquipmentState[] = ['standby', 'scheduled-downtime', 'unscheduled-downtime'];
const NOT_OBSERVED = 'not observed';

type Tally = { cause: string; state: EquipmentState; occurrences: number; lostMs: number; byChamber: Map<string, number> };

/** [LO4] Loads per ms of productive time, by chamber; null where the whole fleet made none. */
export type LoadRates = (chamber: string) => number | null;

/** Losses of the chambers given, each with its intervals in order. */
export function losses(chambers: readonly (readonly StateInterval[])[], rate: LoadRates = () => null): Loss[] {
  const tallies = new Map<string, Tally>();
  for (const intervals of chambers) countChamber(tallies, intervals);
  return [...tallies.values()]
    .map(({ cause, state, lostMs, occurrences, byChamber }) => ({
      cause,
      state,
      lostMs,
      loads: loadsIn(byChamber, rate),
      occurrences,
      chambers: [...byChamber].map(([chamber, ms]) => ({ chamber, lostMs: ms })).sort((a, b) => b.lostMs - a.lostMs),
    }))
    .sort((a, b) => Number(a.state === 'unobserved') - Number(b.state === 'unobserved') || b.lostMs - a.lostMs);
}

/** [LO4] */
export function loadRates(numbers: readonly Pick<WindowNumbers, 'chamber' | 'time' | 'loads'>[]): LoadRates {
  const [made, productive] = numbers.reduce(([n, ms], one) => [n + one.loads.completed, ms + one.time.productive], [0, 0]);
  const fleet = made > 0 && productive > 0 ? made / productive : null;
  const own = new Map(
    numbers.map(({ chamber, time, loads }) => [
      chamber,
      time.productive > 0 && loads.completed > 0 ? loads.completed / time.productive : fleet,
    ]),
  );
  return (chamber) => own.get(chamber) ?? fleet;
}

/** [LO4] */
function loadsIn(byChamber: ReadonlyMap<string, number>, rate: LoadRates): number | null {
  let loads = 0;
  for (const [chamber, ms] of byChamber) {
    const per = rate(chamber);
    if (per === null) return null;
    loads += per * ms;
  }
  return loads;
}

function countChamber(tallies: Map<string, Tally>, intervals: readonly StateInterval[]): void {
  let before: string | null = null;
  for (const interval of intervals) {
    if (interval.state === 'nonscheduled') continue;
    const isLost = LOST.includes(interval.state) || interval.state === 'unobserved';
    const cause = interval.state === 'unobserved' ? NOT_OBSERVED : interval.reason;
    const key = `${interval.state}/${cause}`;
    if (isLost) count(tallies, key, { interval, cause, isNew: key !== before });
    before = key;
  }
}

function count(tallies: Map<string, Tally>, key: string, part: { interval: StateInterval; cause: string; isNew: boolean }): void {
  const { interval, cause, isNew } = part;
  const lostMs = interval.to - interval.from;
  const tally = tallies.get(key) ?? { cause, state: interval.state, occurrences: 0, lostMs: 0, byChamber: new Map<string, number>() };
  tally.lostMs += lostMs;
  tally.occurrences += Number(isNew);
  tally.byChamber.set(interval.chamber, (tally.byChamber.get(interval.chamber) ?? 0) + lostMs);
  tallies.set(key, tally);
}
