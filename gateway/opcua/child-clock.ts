/** The clock of a link process, by what the gateway's clock read when it was started: plant time in whole milliseconds, at any pace. */
import type { ChildClock } from './reception.ts';
import type { ClockSetting } from './wire.ts';

export function childClock({ realMs, plantMs, speed }: ClockSetting, realNow: () => number = Date.now): ChildClock {
  return { now: () => Math.round(plantMs + (realNow() - realMs) * speed), steadyMs: () => performance.now(), realNow, speed };
}
