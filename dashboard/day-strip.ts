/** Today as one strip: intervals as shares of the local day so far or whole, and the hours to name below it. */
import type { StateInterval } from '../src/contract.ts';
import type { EquipmentState } from '../src/equipment.ts';

const HOUR_MS = 3_600_000;

export type DayPiece = {
  readonly state: EquipmentState;
  readonly from: number;
  readonly to: number;
  readonly x: number;
  readonly width: number;
};
export type DayStrip = {
  readonly from: number;
  readonly to: number;
  readonly pieces: readonly DayPiece[];
  readonly hours: readonly { at: number; x: number }[];
};

/** `width` is what the day is drawn on. Neighbours of one state become one piece. Null when the day is empty. */
export function dayStrip(intervals: readonly StateInterval[], now: number, width: number): DayStrip | null {
  const from = intervals[0]?.from;
  if (from === undefined) return null;
  const to = Math.max(from + 24 * HOUR_MS, now);
  const place = (at: number): number => ((at - from) / (to - from)) * width;
  const pieces: DayPiece[] = [];
  for (const { state, from: begin, to: end } of intervals) {
    const last = pieces.at(-1);
    if (last && last.state === state && last.to === begin) pieces[pieces.length - 1] = { ...last, to: end, width: place(end) - last.x };
    else pieces.push({ state, from: begin, to: end, x: place(begin), width: place(end) - place(begin) });
  }
  const hours = Array.from({ length: Math.floor((to - from) / (3 * HOUR_MS)) + 1 }, (_, i) => from + i * 3 * HOUR_MS);
  return { from, to, pieces, hours: hours.map((at) => ({ at, x: place(at) })) };
}
