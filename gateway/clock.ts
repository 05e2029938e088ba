/**
 * Plant time and steady time. In production plant time is the wall clock. A demo may run the simulated plant faster: then gateway and
 * simulator derive the same plant time from the same epoch and speed, and need no talk to agree.
 */
export interface Clock {
  /** Plant time, epoch ms. May jump when somebody sets the machine's clock. */
  now(): number;
  /** Steady real milliseconds, for deadlines: never jumps, never scaled. */
  steadyMs(): number;
  readonly speed: number;
}

export function systemClock(): Clock {
  return { now: () => Date.now(), steadyMs: () => performance.now(), speed: 1 };
}

/** Plant time that equals real time at `epochMs` and runs `speed` times as fast from there. */
export function acceleratedClock(epochMs: number, speed: number): Clock {
  return { now: () => Math.round(epochMs + (Date.now() - epochMs) * speed), steadyMs: () => performance.now(), speed };
}
