/**
 * Numbers as they are told of a window that may not have been watched.
 * [SE1] Where nobody observed anything, a count of nothing is null: nothing counted is not none. A count of something stays: it was read.
 * [SE2] With any observed time a zero stays a zero; coverage stands beside it.
 */
import type { SeenNumbers, StateTimes, WindowNumbers } from './numbers.ts';
import { MISSING } from './share-words.ts';
import { observedMs } from './utilization.ts';

/** [SE1] [SE2] */
export const seenCount = (count: number, time: StateTimes): number | null => (count === 0 && observedMs(time) === 0 ? null : count);

/** A count as text: missing is a dash. */
export const countText = (count: number | null): string => (count === null ? MISSING : String(count));

/** [SE1] Hours of a state: where nobody observed anything only unobserved time is known. */
export const seenMs = (state: keyof StateTimes, time: StateTimes): number | null =>
  state === 'unobserved' ? time.unobserved : seenCount(time[state], time);

type Counts = Readonly<Record<string, unknown>>;

/** Each whole number of a record of counts; what is no number stays. */
function seenOf<T extends Counts, K extends keyof T>(counts: T, keys: readonly K[], time: StateTimes): Record<K, number | null> {
  return Object.fromEntries(keys.map((key) => [key, seenCount(counts[key] as number, time)])) as Record<K, number | null>;
}

const LOADS = ['completed', 'aborted', 'interrupted', 'notFullyObserved', 'engineering'] as const;
const STOPS = [
  'failures',
  'failuresInProduction',
  'assists',
  'assistsInProduction',
  'external',
  'cut',
  'open',
  'cycles',
  'downtimeEvents',
  'repairs',
] as const;

/** [SE1] */
export function onlySeen(numbers: WindowNumbers): SeenNumbers {
  const { time, loads, alarms, reliability } = numbers;
  if (observedMs(time) > 0) return numbers;
  return {
    ...numbers,
    loads: seenOf(loads, LOADS, time),
    alarms: { ...alarms, ...seenOf(alarms, ['activations', 'peak10Min'], time) },
    reliability: { ...reliability, ...seenOf(reliability, STOPS, time) },
    shiftLoads: numbers.shiftLoads.map((line) => {
      const seen = seenCount(line.loads, time);
      return { ...line, loads: seen, loadsPerShift: seen === null ? null : line.loadsPerShift };
    }),
  };
}
