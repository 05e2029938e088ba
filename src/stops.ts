/**
 * Unscheduled downtime as stretches, and what of it nobody explained.
 * [SP1] A stop is unscheduled downtime without a break, whatever its sub-reasons; nonscheduled and told time break it, and so does an unobserved
 *       hole of more than ten minutes (own choice: a restart or a short silence makes no second stop). Unobserved time in it is no downtime.
 * [SP2] Unexplained is a stop longer than a minute for which no person gave a reason.
 * [SP3] Of a stop that reaches beyond the window only the part inside counts in the hours; it is listed whole.
 * [SP4] The share is of all unscheduled downtime in the window, told or not; null where there was none.
 */
import { firstFrom, type Span } from './calendar.ts';
import type { StateInterval, Stop, StopsPage } from './contract.ts';
import { MINUTE_MS } from './zone.ts';

/** [SP2] */
const SHORTEST_STOP_MS = MINUTE_MS;

const LONGEST_HOLE_MS = 10 * MINUTE_MS;

/** [SP1] The stops of one chamber without a person's reason, in order. `until` is when it was last heard: a stop that reaches it goes on. */
export function untoldStops(intervals: readonly StateInterval[], until: number): readonly Stop[] {
  const stops: Stop[] = [];
  let reached = -Infinity;
  for (const { chamber, from, to, state, reason, entry } of intervals) {
    const isHole = state === 'unobserved' && to - from <= LONGEST_HOLE_MS;
    if (isHole && reached === from) reached = to;
    if (state !== 'unscheduled-downtime' || entry !== null) continue;
    const last = stops.at(-1);
    const isOn = to >= until;
    if (last && reached === from) stops[stops.length - 1] = longer(last, { to, isOn, reason, downMs: to - from });
    else stops.push({ chamber, from, to, isOn, downMs: to - from, reasons: [reason] });
    reached = to;
  }
  return stops.filter(({ downMs }) => downMs > SHORTEST_STOP_MS);
}

const longer = (stop: Stop, { to, isOn, reason, downMs }: { to: number; isOn: boolean; reason: string; downMs: number }): Stop => ({
  ...stop,
  to,
  isOn,
  downMs: stop.downMs + downMs,
  reasons: [...new Set([...stop.reasons, reason])],
});

type StoppedChamber = { readonly intervals: readonly StateInterval[]; readonly heardUntil: number };

/** [SP2] [SP3] [SP4] The to-do list of a window, newest first. The intervals may reach beyond it. */
export function stopsPage(chambers: readonly StoppedChamber[], window: Span): StopsPage {
  const isInside = ({ from, to }: Span): boolean => from < window.to && to > window.from;
  const stops = chambers.flatMap(({ intervals, heardUntil }) => untoldStops(intervals, heardUntil).filter(isInside));
  const down = chambers.flatMap(({ intervals }) => intervals.filter((one) => one.state === 'unscheduled-downtime' && isInside(one)));
  const unexplained = down.filter(isIn(stops));
  const [unexplainedMs, unscheduledMs] = [insideMs(unexplained, window), insideMs(down, window)];
  return {
    from: window.from,
    to: window.to,
    unexplainedMs,
    unscheduledMs,
    share: unscheduledMs === 0 ? null : unexplainedMs / unscheduledMs,
    stops: [...stops].sort((a, b) => b.from - a.from || (a.chamber < b.chamber ? -1 : 1)),
  };
}

/** [SP2] Whether an interval is untold downtime of one of the stops, which are ascending in each chamber. */
export function isIn(stops: readonly Stop[]): (interval: StateInterval) => boolean {
  const byChamber = Map.groupBy(stops, ({ chamber }) => chamber);
  return ({ chamber, from, to, state, entry }) => {
    if (state !== 'unscheduled-downtime' || entry !== null) return false;
    const own = byChamber.get(chamber) ?? [];
    const last = own[firstFrom(own, from + 1) - 1];
    return last !== undefined && to <= last.to;
  };
}

/** [SP3] */
const insideMs = (spans: readonly Span[], window: Span): number =>
  spans.reduce((sum, { from, to }) => sum + Math.min(to, window.to) - Math.max(from, window.from), 0);
