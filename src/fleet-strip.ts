/**
 * The strip over the wall: the whole hall in a few numbers.
 * [FS1] Every tile is in exactly one count, by the word that it bears itself (doing.ts).
 * [FS2] The next to finish are the three runs with the nearest likely end; runs without a forecast are not guessed.
 * [FS3] This shift stands beside the same elapsed part of up to 10 earlier shifts of its name. Shifts with under 95 % of their operations time
 *       observed are not compared with: what nobody saw was not counted, the same rule as between weeks.
 * [FS4] A shift's loads are those whose run ended in it.
 * [FS5] A flood is told until it ends (alarm-stats.ts [AS2]), however long ago it began, as far back as the facts at hand go.
 */
import { activationTimes, floods, LOOK_BACK_MS } from './alarm-stats.ts';
import { type Calendar, nonscheduled, previousShifts, type Shift, shiftAt, type Span } from './calendar.ts';
import type { ChamberTile, FleetStrip } from './contract.ts';
import { type ChamberFacts, within } from './facts.ts';
import type { Share } from './numbers.ts';
import { isLoad } from './cycle-time.ts';
import { type Doing, doingOf } from './doing.ts';
import { median } from './stats.ts';
import { addTimes, COUNTING_COVERAGE, shares, stateTimes } from './utilization.ts';
import { stateIntervals } from './interval.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

const NEXT_SHOWN = 3;
const EARLIER_SHIFTS = 10;

type StripInput = {
  readonly tiles: readonly ChamberTile[];
  /** Facts of the running shift and of the last hour before now. */
  readonly facts: readonly ChamberFacts[];
  readonly calendar: Calendar;
  readonly now: number;
  readonly openAlerts: number;
  /** From `earlierShifts`, which needs days of facts and changes slowly: ask for it once a minute. */
  readonly usual: UsualShift | null;
};
export type UsualShift = NonNullable<NonNullable<FleetStrip['shift']>['usual']>;

export function fleetStrip({ tiles, facts, calendar, now, openAlerts, usual }: StripInput): FleetStrip {
  return {
    counts: tileCounts(tiles),
    nextToFinish: nextToFinish(tiles),
    shift: shiftPart({ facts, calendar, now, usual }),
    alarms: alarmPart(facts, now),
    openAlerts,
  };
}

/** [FS1] */
export function tileCounts(tiles: readonly ChamberTile[]): FleetStrip['counts'] {
  const counts = Object.fromEntries(Object.values(COUNT_OF).map((name) => [name, 0])) as FleetStrip['counts'];
  for (const tile of tiles) counts[COUNT_OF[doingOf(tile)]] += 1;
  return counts;
}

const COUNT_OF: Readonly<Record<Doing, keyof FleetStrip['counts']>> = {
  running: 'running',
  hold: 'hold',
  loading: 'handling',
  unloading: 'handling',
  told: 'told',
  unload: 'waiting',
  load: 'idle',
  idle: 'idle',
  down: 'down',
  maintenance: 'maintenance',
  engineering: 'engineering',
  nonscheduled: 'nonscheduled',
  unobserved: 'unobserved',
};

/** [FS2] */
export function nextToFinish(tiles: readonly ChamberTile[]): FleetStrip['nextToFinish'] {
  return tiles
    .filter((tile) => tile.link === 'live')
    .flatMap(({ chamber, run }) => (run?.finish ? [{ chamber, at: run.finish.likely }] : []))
    .sort((a, b) => a.at - b.at)
    .slice(0, NEXT_SHOWN);
}

/** The elapsed part of an earlier shift with its numbers, and whether enough of it was observed to compare with. */
export type EarlierShift = Span & { readonly loads: number; readonly utilization: Share; readonly counts: boolean };

/** [FS3] Newest first. `facts` must reach back over them (two weeks hold ten of most shifts). */
export function earlierShifts(facts: readonly ChamberFacts[], calendar: Calendar, now: number): readonly EarlierShift[] {
  const present = shiftAt(calendar, now);
  if (!present) return [];
  return previousShifts(calendar, now, EARLIER_SHIFTS).map((shift) => {
    const span = elapsedPart(shift, now - present.from);
    const numbers = shiftNumbers(facts, calendar, span);
    return { ...span, ...numbers, counts: (numbers.utilization.coverage ?? 0) >= COUNTING_COVERAGE };
  });
}

/** [FS3] Medians over earlier shifts. Null when none can be compared. */
export function usualShift(earlier: readonly EarlierShift[]): UsualShift | null {
  const parts = earlier.filter(({ counts }) => counts);
  if (parts.length === 0) return null;
  return {
    shifts: parts.length,
    loads: median(parts.map((part) => part.loads)),
    utilization: median(parts.map((part) => part.utilization.value as number)),
  };
}

const elapsedPart = (shift: Shift, elapsedMs: number): Span => ({ from: shift.from, to: Math.min(shift.to, shift.from + elapsedMs) });

function shiftPart({ facts, calendar, now, usual }: Pick<StripInput, 'facts' | 'calendar' | 'now' | 'usual'>): FleetStrip['shift'] {
  const shift = shiftAt(calendar, now);
  return shift && { ...shift, ...shiftNumbers(facts, calendar, { from: shift.from, to: now }), usual };
}

/** [FS4] */
function shiftNumbers(
  facts: readonly ChamberFacts[],
  calendar: Calendar,
  span: Span,
): { readonly loads: number; readonly utilization: Share } {
  const free = nonscheduled(calendar, span.from, span.to);
  const time = addTimes(facts.map((one) => stateTimes(stateIntervals(one, span, free))));
  const loads = facts.reduce((sum, one) => sum + within(one.runs, span.from, span.to).filter(isLoad).length, 0);
  return { loads, utilization: shares(time).operationalUtilization };
}

/** [FS5] */
function alarmPart(facts: readonly ChamberFacts[], now: number): FleetStrip['alarms'] {
  const times = activationTimes(facts, now - LOOK_BACK_MS, now + 1);
  const last = floods(times).at(-1);
  const since = (ms: number): number => times.filter((at) => at > now - ms).length;
  return {
    last10Min: since(10 * MINUTE_MS),
    lastHour: since(HOUR_MS),
    flooded: last !== undefined && last.to > now,
  };
}
