/**
 * Where time went that made no product: by cause, largest first.
 * [LO1] Lost is time in standby and in downtime; its cause is the reason that the chamber's facts give. Engineering and nonscheduled time are
 *       somebody's plan and no loss.
 * [LO2] Unobserved time is listed apart, after all causes, however long it is: it may hold anything.
 * [LO4] Lost time is also told in loads: what each chamber would have made in it at its own rate in productive time of the window, or at the
 *       fleet's where it made none. It says how large the hours are, not that work was waiting.
 * [LO3] A cause that goes on after a stretch of nonscheduled time counts as one occurrence.
 * [LO5] A stop keeps its cause while what is done about it changes: tripped by it and in repair of it are parts of one cause, told beside it.
 * [LO6] A stop is told by its causes, each once, with what was done about it: 'RF generator fault (tripped, repair)'.
 */
import type { StateInterval } from './contract.ts';
import type { EquipmentState } from './equipment.ts';
import type { Loss, WindowNumbers } from './numbers.ts';
import { HOUR_MS } from './zone.ts';

const LOST: readonly EquipmentState[] = ['standby', 'scheduled-downtime', 'unscheduled-downtime'];
const NOT_OBSERVED = 'not observed';

/** [LO5] As the reducer says it: 'repair: RF generator fault'. */
const DOING = /^(tripped|stopped|repair): (?=.)/;

/** [LO5] What the hours of an interval are booked on, in its state. */
export function causeOf({ state, reason }: Pick<StateInterval, 'state' | 'reason'>): string {
  if (state === 'unobserved') return NOT_OBSERVED;
  return state === 'unscheduled-downtime' ? reason.replace(DOING, '') : reason;
}

/** [LO5] Of a part: 'repair'; the whole reason where it says nothing else. */
export const doingOf = (reason: string): string => DOING.exec(reason)?.[1] ?? reason;

/** [LO5] 'repair 3.1 h, tripped 0.4 h'; nothing for a cause of one part. */
export const partsText = ({ parts }: Pick<Loss, 'parts'>): string =>
  parts.length < 2 ? '' : parts.map(({ reason, lostMs }) => `${doingOf(reason)} ${(lostMs / HOUR_MS).toFixed(1)}\u00a0h`).join(', ');

/** [LO6] From a stop's reasons in their order. */
export function stopText(reasons: readonly string[]): string {
  const causes = Map.groupBy(reasons, (reason) => reason.replace(DOING, ''));
  return [...causes]
    .map(([cause, own]) => {
      const doings = own.flatMap((reason) => DOING.exec(reason)?.[1] ?? []);
      return doings.length === 0 ? cause : `${cause} (${doings.join(', ')})`;
    })
    .join('; ');
}

type Tally = {
  cause: string;
  state: EquipmentState;
  occurrences: number;
  lostMs: number;
  byChamber: Map<string, number>;
  byReason: Map<string, number>;
};

/** [LO4] Loads per ms of productive time, by chamber; null where the whole fleet made none. */
export type LoadRates = (chamber: string) => number | null;

/** Losses of the chambers given, each with its intervals in order. */
export function losses(chambers: readonly (readonly StateInterval[])[], rate: LoadRates = () => null): Loss[] {
  const tallies = new Map<string, Tally>();
  for (const intervals of chambers) countChamber(tallies, intervals);
  return [...tallies.values()]
    .map(({ cause, state, lostMs, occurrences, byChamber, byReason }) => ({
      cause,
      state,
      lostMs,
      loads: loadsIn(byChamber, rate),
      occurrences,
      chambers: [...byChamber].map(([chamber, ms]) => ({ chamber, lostMs: ms })).sort((a, b) => b.lostMs - a.lostMs),
      parts: [...byReason].map(([reason, ms]) => ({ reason, lostMs: ms })).sort((a, b) => b.lostMs - a.lostMs),
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
    const cause = causeOf(interval);
    const key = `${interval.state}/${cause}`;
    if (isLost) count(tallies, key, { interval, cause, isNew: key !== before });
    before = key;
  }
}

function count(tallies: Map<string, Tally>, key: string, part: { interval: StateInterval; cause: string; isNew: boolean }): void {
  const { interval, cause, isNew } = part;
  const lostMs = interval.to - interval.from;
  const tally = tallies.get(key) ?? {
    ...{ cause, state: interval.state, occurrences: 0, lostMs: 0 },
    ...{ byChamber: new Map<string, number>(), byReason: new Map<string, number>() },
  };
  tally.lostMs += lostMs;
  tally.occurrences += Number(isNew);
  grow(tally.byChamber, interval.chamber, lostMs);
  grow(tally.byReason, interval.state === 'unobserved' ? NOT_OBSERVED : interval.reason, lostMs);
  tallies.set(key, tally);
}

const grow = (sums: Map<string, number>, key: string, by: number): void => void sums.set(key, (sums.get(key) ?? 0) + by);
