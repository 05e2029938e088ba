/**
 * A signal is told when it changes. Between two words it is what it was, so a steady value is a line and not an empty chart.
 * [HS1] What held when the window opened stands at its begin; what holds at its end stands there. Nothing is added inside.
 * [HS2] A gap holds nothing: after one, the line begins with the next value.
 * (OPC 10000-4: a monitored item is silent while its value does not change; the session's keep-alive says that it is still true.)
 */
import type { Span } from './calendar.ts';
import type { Series } from './thinning.ts';

/** [HS1] [HS2] `series` ascending, beginning before the window where it can. `window.to` is at most the time of the last word. */
export function heldSeries({ at, value }: Series, { from, to }: Span): Series {
  const inside = at.map((_, i) => i).filter((i) => (at[i] as number) >= from && (at[i] as number) < to);
  const opening = value[at.findLastIndex((time) => time < from)] ?? null;
  const out: [number, number | null][] = inside.map((i) => [at[i] as number, value[i] ?? null]);
  if (opening !== null && out[0]?.[0] !== from && from < to) out.unshift([from, opening]);
  const last = out.at(-1);
  if (last !== undefined && last[1] !== null && last[0] < to) out.push([to, last[1]]);
  return { at: out.map(([time]) => time), value: out.map(([, v]) => v) };
}
