/**
 * What able chambers waited for.
 * [WT1] Standby splits by its reason; the parts sum to standby exactly. Without a person's word, idling has no known cause: nobody tells whether
 *       work was waiting or nobody was there.
 * [WT2] A load's wait for unload runs from the chamber's return to atmosphere to the door's opening; opened at once is a wait of nothing. A wait
 *       that nonscheduled or unobserved time cuts has no known length and is left out.
 */
import { firstFrom } from './calendar.ts';
import type { StateInterval } from './contract.ts';
import type { RunEnded } from './event.ts';
import { WAITING_KINDS, type WaitingPart, type WaitSpread } from './kpi.ts';
import { ascending, percentile } from './stats.ts';

/** As the reducer says it. */
export const WAITING_FOR_UNLOAD = 'waiting for unload';
type Kind = WaitingPart['kind'];

/** [WT1] The first that matches says the kind; a person's words go before the chamber's. */
const KINDS: readonly (readonly [RegExp, Kind])[] = [
  [/^waiting for unload$|\bunload/i, 'for unload'],
  [/\b(operator|people|person|staff|loader)\b/i, 'for operator'],
  [/\bno (work|product|lot|load|order)/i, 'no work'],
  [/\bload(ing)?\b|^door open$/i, 'for load'],
];

function kindOf({ reason, source }: StateInterval): Kind {
  return KINDS.find(([pattern]) => pattern.test(reason))?.[1] ?? (source === 'person' ? 'other' : 'cause unknown');
}

/** [WT1] Of one chamber, in order. A reason that goes on after nonscheduled time is one occurrence. */
export function waitingParts(intervals: readonly StateInterval[]): readonly WaitingPart[] {
  const parts = new Map<string, WaitingPart>();
  let before: string | null = null;
  for (const interval of intervals) {
    if (interval.state === 'nonscheduled') continue;
    const waits = interval.state === 'standby';
    const key = waits ? interval.reason : null;
    if (waits) {
      const known = parts.get(interval.reason) ?? { kind: kindOf(interval), reason: interval.reason, waitMs: 0, occurrences: 0 };
      const { waitMs, occurrences } = known;
      const more = { waitMs: waitMs + interval.to - interval.from, occurrences: occurrences + Number(key !== before) };
      parts.set(interval.reason, { ...known, ...more });
    }
    before = key;
  }
  return sorted([...parts.values()]);
}

export function addWaiting(chambers: readonly (readonly WaitingPart[])[]): WaitingPart[] {
  const parts = new Map<string, WaitingPart>();
  for (const part of chambers.flat()) {
    const key = `${part.kind}/${part.reason}`;
    const known = parts.get(key);
    parts.set(key, known ? { ...known, waitMs: known.waitMs + part.waitMs, occurrences: known.occurrences + part.occurrences } : part);
  }
  return sorted([...parts.values()]);
}

const sorted = (parts: WaitingPart[]): WaitingPart[] =>
  parts.sort(
    (a, b) => b.waitMs - a.waitMs || WAITING_KINDS.indexOf(a.kind) - WAITING_KINDS.indexOf(b.kind) || (a.reason < b.reason ? -1 : 1),
  );

/** [WT2] Null where it is not known. */
export function waitForUnloadMs(run: RunEnded, intervals: readonly StateInterval[]): number | null {
  const index = firstFrom(intervals, run.at);
  const first = intervals[index];
  if (!first || first.from !== run.at) return null;
  if (first.state === 'productive') return 0;
  if (first.state !== 'standby' || (first.observed?.reason ?? first.reason) !== WAITING_FOR_UNLOAD) return null;
  let end = index;
  while ((intervals[end]?.observed?.reason ?? intervals[end]?.reason) === WAITING_FOR_UNLOAD) end++;
  const next = intervals[end];
  return next && next.state !== 'nonscheduled' && next.state !== 'unobserved' ? next.from - first.from : null;
}

export function waitSpread(waits: readonly (number | null)[]): WaitSpread | null {
  const known = ascending(waits.filter((wait) => wait !== null));
  if (known.length === 0) return null;
  return { n: known.length, p50: percentile(known, 0.5), p95: percentile(known, 0.95), sumMs: known.reduce((sum, wait) => sum + wait, 0) };
}
