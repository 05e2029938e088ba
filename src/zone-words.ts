/** Times of the site as people read them, on screen and on paper alike; making a format costs much more than using one, so each is kept. */
const formats = new Map<string, Intl.DateTimeFormat>();

function format(zone: string, parts: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = `${zone} ${JSON.stringify(parts)}`;
  const known = formats.get(key);
  if (known !== undefined) return known;
  const made = new Intl.DateTimeFormat('en-GB', { timeZone: zone, hourCycle: 'h23', ...parts });
  formats.set(key, made);
  return made;
}

const HOUR_MINUTE = { hour: '2-digit', minute: '2-digit' } as const;
const DAY_MONTH = { day: 'numeric', month: 'short' } as const;

export const clock = (at: number, zone: string): string => format(zone, HOUR_MINUTE).format(at);
export const clockSeconds = (at: number, zone: string): string => format(zone, { ...HOUR_MINUTE, second: '2-digit' }).format(at);
export const weekday = (at: number, zone: string): string => format(zone, { weekday: 'short' }).format(at);
export const dayMonth = (at: number, zone: string): string => format(zone, DAY_MONTH).format(at);
export const day = (at: number, zone: string): string => format(zone, { weekday: 'short', ...DAY_MONTH }).format(at);
export const date = (at: number, zone: string): string => format(zone, { ...DAY_MONTH, year: 'numeric' }).format(at);
export const dayTime = (at: number, zone: string): string => `${day(at, zone)} ${clock(at, zone)}`;
/** With what the zone is ahead of UTC, because an hour may come twice. */
export const stamp = (at: number, zone: string): string =>
  `${date(at, zone)} ${format(zone, { ...HOUR_MINUTE, timeZoneName: 'shortOffset' }).format(at)}`;
