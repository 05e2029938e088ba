/**
 * Local time in a named zone, from Intl alone, fast enough to be asked a million times.
 * [ZO1] A local time that the clocks skip means the moment as far behind the skip as it was named inside it: 02:30 becomes 03:30.
 * [ZO2] A local time that happens twice means its first happening. (Both as RFC 5545 section 3.3.5 resolves local times.)
 */
export const MINUTE_MS = 60_000;
export const HOUR_MS = 3_600_000;
export const DAY_MS = 86_400_000;

/** From `from` until the next stretch, local time is UTC + `offset` ms. */
type Stretch = { readonly from: number; readonly offset: number };

/** Milliseconds to add to UTC to get the zone's local time at that moment. */
export function offsetAt(zone: string, at: number): number {
  return stretchAt(zone, at).offset;
}

/** The zone's calendar day at that moment, as days since 1 January 1970. */
export function localDay(zone: string, at: number): number {
  return Math.floor((at + offsetAt(zone, at)) / DAY_MS);
}

/** [ZO1] [ZO2] The moment at which the zone's clocks show `minute` minutes past midnight of `day`. 1440 is the next midnight. */
export function atLocalTime(zone: string, day: number, minute: number): number {
  const wall = day * DAY_MS + minute * MINUTE_MS;
  const before = offsetAt(zone, wall - DAY_MS);
  const after = offsetAt(zone, wall + DAY_MS);
  if (offsetAt(zone, wall - before) === before) return wall - before;
  if (offsetAt(zone, wall - after) === after) return wall - after;
  return wall - before;
}

/** The first moment of the zone's calendar day: midnight, or the end of the skip where midnight is skipped. */
export function startOfDay(zone: string, day: number): number {
  const at = atLocalTime(zone, day, 0);
  return at + offsetAt(zone, at) === day * DAY_MS ? at : stretchAt(zone, at).from;
}

function stretchAt(zone: string, at: number): Stretch {
  const stretches = yearOf(zone, new Date(at).getUTCFullYear());
  let found = stretches[0] as Stretch;
  for (const stretch of stretches) if (stretch.from <= at) found = stretch;
  return found;
}

/** Asking Intl costs microseconds, and a zone's rules do not change while we run: each zone and UTC year is asked once. */
const known = new Map<string, Map<number, readonly Stretch[]>>();

function yearOf(zone: string, year: number): readonly Stretch[] {
  let years = known.get(zone);
  if (!years) known.set(zone, (years = new Map<number, readonly Stretch[]>()));
  let stretches = years.get(year);
  if (!stretches) years.set(year, (stretches = measuredYear(zone, year)));
  return stretches;
}

/** Looks every five days (no zone changes and changes back faster) and closes in on each change to the second. */
function measuredYear(zone: string, year: number): readonly Stretch[] {
  const offset = offsetReader(zone);
  const end = Date.UTC(year + 1, 0, 1);
  let at = Date.UTC(year, 0, 1);
  const stretches: Stretch[] = [{ from: at, offset: offset(at) }];
  for (; at < end; at += 5 * DAY_MS) {
    let [low, high] = [at, Math.min(at + 5 * DAY_MS, end - 1000)];
    const before = offset(low);
    if (offset(high) === before) continue;
    while (high - low > 1000) {
      const middle = low + Math.floor((high - low) / 2000) * 1000;
      if (offset(middle) === before) low = middle;
      else high = middle;
    }
    stretches.push({ from: high, offset: offset(high) });
  }
  return stretches;
}

function offsetReader(zone: string): (at: number) => number {
  const format = new Intl.DateTimeFormat('en-US', {
    timeZone: zone,
    hourCycle: 'h23',
    year: 'numeric',
    month: 'numeric',
    day: 'numeric',
    hour: 'numeric',
    minute: 'numeric',
    second: 'numeric',
  });
  return (at) => {
    const part: Partial<Record<Intl.DateTimeFormatPartTypes, number>> = {};
    for (const { type, value } of format.formatToParts(at)) part[type] = Number(value);
    const { year = 0, month = 1, day = 1, hour = 0, minute = 0, second = 0 } = part;
    return Date.UTC(year, month - 1, day, hour, minute, second) - Math.floor(at / 1000) * 1000;
  };
}
