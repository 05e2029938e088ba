/**
 * Alarms that come again and again, or are gone before anybody can act; in the manner of ISA-18.2 and EEMUA 191, from secondary texts.
 * [AK1] Slow chatter, which passes the rule of three in a minute: ten or more activations within an hour whose median active time is under ten
 *       seconds. (Own rule, measured on a door switch and a flow switch.)
 * [AK2] Chattering index (Kondaveeti et al., Chem. Eng. Res. Des. 91 (2013) 2550, definition from memory): a run is the time between two
 *       activations, one second at least; the index is the mean of 1/run.
 * [AK3] By the index an alarm chatters from 0.05 per second on, and with at least three runs of ten minutes or less: one quick pair is no chatter.
 * [AK4] Fleeting: cleared in less than ten seconds with no acknowledgement, and no other activation of that alarm within a minute before or
 *       after. What nobody saw clear is not called fleeting.
 */
import type { ActiveSpan } from './alarm-spans.ts';
import { percentile, ascending } from './stats.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

const BRIEF_MS = 10_000;
const SLOW_COUNT = 10;
const CHATTERS_FROM = 0.05;
const LEAST_RUNS = 3;
const LONGEST_RUN_MS = 10 * MINUTE_MS;

/** [AK1] */
export function chattersSlowly(spans: readonly ActiveSpan[]): boolean {
  return spans.some((last, i) => {
    if (i + 1 < SLOW_COUNT) return false;
    const hour = hourBefore(spans, i);
    const active = medianActiveMs(hour);
    return hour.length >= SLOW_COUNT && active !== null && active < BRIEF_MS;
  });
}

/** Activations in the hour that ends with the one at `index`. */
function hourBefore(spans: readonly ActiveSpan[], index: number): readonly ActiveSpan[] {
  const last = spans[index] as ActiveSpan;
  let first = index;
  while (first > 0 && (spans[first - 1] as ActiveSpan).from > last.from - HOUR_MS) first--;
  return spans.slice(first, index + 1);
}

/** Of the activations known to their end; null where there is none. */
export function medianActiveMs(spans: readonly ActiveSpan[]): number | null {
  const known = spans.filter(({ isKnown }) => isKnown).map(({ from, to }) => to - from);
  return known.length > 0 ? percentile(ascending(known), 0.5) : null;
}

type ChatterIndex = { readonly index: number | null; readonly byIndex: boolean };

/** [AK2] [AK3] `times` of one alarm, ascending. */
export function chatterIndex(times: readonly number[]): ChatterIndex {
  const runsMs = times.slice(1).map((time, i) => Math.max(1000, time - (times[i] as number)));
  if (runsMs.length === 0) return { index: null, byIndex: false };
  const index = runsMs.reduce((sum, run) => sum + 1000 / run, 0) / runsMs.length;
  const quick = runsMs.filter((run) => run <= LONGEST_RUN_MS).length;
  return { index, byIndex: index >= CHATTERS_FROM && quick >= LEAST_RUNS };
}

/** [AK4] How many of an alarm's activations were fleeting. */
export function fleetingCount(spans: readonly ActiveSpan[]): number {
  const isApart = (a: ActiveSpan | undefined, b: ActiveSpan | undefined): boolean => !a || !b || b.from - a.from > MINUTE_MS;
  return spans.filter(
    (span, i) =>
      span.isKnown && !span.acknowledged && span.to - span.from < BRIEF_MS && isApart(spans[i - 1], span) && isApart(span, spans[i + 1]),
  ).length;
}
