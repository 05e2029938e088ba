/** Today as one strip: intervals as shares of the local day so far or whole, and the hours to name below it. */
import type { StateInterval } from '../src/contract.ts';
import type { EquipmentState } from '../src/equipment.ts';

const HOUR_MS = 3_600_000;

/** A stretch of one state told by one entry, or by none. */
export type Stretch = {
  readonly state: EquipmentState;
  readonly from: number;
  readonly to: number;
  /** The reasons shown, as they came. */
  readonly reasons: readonly string[];
  readonly entry: string | null;
  /** What was observed beneath a told one; of others, what is shown. */
  readonly observed: { readonly states: readonly EquipmentState[]; readonly reasons: readonly string[] };
};
type DayPiece = Stretch & { readonly x: number; readonly width: number };
export type DayStrip = {
  readonly from: number;
  readonly to: number;
  readonly pieces: readonly DayPiece[];
  readonly hours: readonly { at: number; x: number }[];
};

/** `width` is what the day is drawn on. Null when the day is empty. */
export function dayStrip(intervals: readonly StateInterval[], now: number, width: number): DayStrip | null {
  const from = intervals[0]?.from;
  if (from === undefined) return null;
  const to = Math.max(from + 24 * HOUR_MS, now);
  const place = (at: number): number => ((at - from) / (to - from)) * width;
  const pieces = stretches(intervals).map((one) => ({ ...one, x: place(one.from), width: place(one.to) - place(one.from) }));
  const hours = Array.from({ length: Math.floor((to - from) / (3 * HOUR_MS)) + 1 }, (_, i) => from + i * 3 * HOUR_MS);
  return { from, to, pieces, hours: hours.map((at) => ({ at, x: place(at) })) };
}

/** What a finger can hardly hit is hit from so near. */
const NEAR_PX = 6;
const SLIM_PX = 12;

/** The piece meant by a click `x` px from the left of a strip `widthPx` wide: a slim one from nearby too. */
export function pieceAt({ pieces, from, to }: DayStrip, x: number, widthPx: number): number {
  const px = (at: number): number => ((at - from) / (to - from)) * widthPx;
  const slim = pieces.findIndex((p) => px(p.to) - px(p.from) < SLIM_PX && px(p.from) - NEAR_PX <= x && x < px(p.to) + NEAR_PX);
  return slim >= 0 ? slim : pieces.findIndex((p) => px(p.from) <= x && x < px(p.to));
}

/** Neighbours of one state and one entry become one stretch. */
export function stretches(intervals: readonly StateInterval[]): readonly Stretch[] {
  const out: Stretch[] = [];
  for (const interval of intervals) {
    const next = stretchOf(interval);
    const last = out.at(-1);
    if (last && last.state === next.state && last.entry === next.entry && last.to === next.from) out[out.length - 1] = joined(last, next);
    else out.push(next);
  }
  return out;
}

function stretchOf({ state, from, to, reason, entry, observed }: StateInterval): Stretch {
  const below = observed ?? { state, reason };
  return { state, from, to, reasons: [reason], entry, observed: { states: [below.state], reasons: [below.reason] } };
}

const joined = (a: Stretch, b: Stretch): Stretch => ({
  ...a,
  to: b.to,
  reasons: both(a.reasons, b.reasons),
  observed: { states: both(a.observed.states, b.observed.states), reasons: both(a.observed.reasons, b.observed.reasons) },
});

const both = <T>(a: readonly T[], b: readonly T[]): readonly T[] => [...new Set([...a, ...b])];
