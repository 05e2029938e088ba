/**
 * A debounced yes or no drawn from raw signals: it turns only when the new answer has held, and is back-dated to the first true sample.
 * [FL1] A flag turns when the opposite has held for its hold time, and its `since` is the moment the opposite was first seen.
 * [FL2] A change that does not hold leaves no mark: chatter is not a boundary.
 * [FL3] A flag never seen takes its first value at once.
 */

/** Later than any time: no change pending. A number, because states are stored as JSON. */
export const NEVER = 8.64e15;

export type Flag = {
  /** Null until first seen. */
  readonly on: boolean | null;
  /** When it took its present value. */
  readonly since: number;
  /** When the opposite was first seen, NEVER while steady. */
  readonly turningAt: number;
};

export const UNSEEN: Flag = { on: null, since: 0, turningAt: NEVER };

/** [FL1]-[FL3] The flag after the raw signals said `wanted` at `at`; null says nothing. Same object when nothing changed. */
export function told(flag: Flag, wanted: boolean | null, at: number): Flag {
  if (wanted === null) return flag;
  if (flag.on === null) return { on: wanted, since: at, turningAt: NEVER };
  if (wanted === flag.on) return flag.turningAt === NEVER ? flag : { on: flag.on, since: flag.since, turningAt: NEVER };
  return flag.turningAt === NEVER ? { on: flag.on, since: flag.since, turningAt: at } : flag;
}

/** [FL1] The flag once its change has held until `now`. */
export function held(flag: Flag, holdMs: number, now: number): Flag {
  return now >= flag.turningAt + holdMs ? { on: !flag.on, since: flag.turningAt, turningAt: NEVER } : flag;
}

/** What the raw signals last said, held or not. */
export const rawly = (flag: Flag): boolean | null => (flag.turningAt === NEVER ? flag.on : !flag.on);
