/**
 * Puts a chamber's readings into order of event time before they are judged: values wait a short window for those that are late.
 * [OR1] What is older than the newest word by more than the window, or has waited that long, is handed on in order of event time, then signal.
 * [OR2] Any order of arrival within the window gives the same readings in the same order.
 * [OR3] The same reading twice is handed on once; another value of the same instant is a newer word, in order of arrival.
 * [OR4] Too late for the window: handed on only if newer than the latest handed on of that signal, else left out; both are counted. The first
 *       values of a subscription are often late so, because each bears the time when it last changed; nothing is lost by it.
 */
import type { Reading } from './reading.ts';

export const WINDOW_MS = 1_500;

export type Ordering = {
  /** In order of event time, then signal. */
  readonly waiting: readonly Reading[];
  /** When the longest waiting was received. */
  readonly oldestReceipt: number;
  /** Event time up to which everything was handed on. */
  readonly doneTo: number;
  /** Newest event time seen. */
  readonly newest: number;
  /** The latest reading handed on, by signal. */
  readonly latest: ReadonlyMap<string, Reading>;
  readonly late: number;
  /** Of the late: overtaken by a newer value of their signal. */
  readonly leftOut: number;
  readonly duplicates: number;
};

export const initialOrdering: Ordering = {
  waiting: [],
  oldestReceipt: Infinity,
  doneTo: 0,
  newest: 0,
  latest: new Map(),
  late: 0,
  leftOut: 0,
  duplicates: 0,
};

type Admitted = { readonly buffer: Ordering; readonly ready: readonly Reading[] };

const NONE: readonly Reading[] = [];

/** [OR1]-[OR4] `now` is the gateway's plant time: waiting values leave when they waited `windowMs`, even if nothing newer comes. */
export function admit(buffer: Ordering, readings: readonly Reading[], now: number, windowMs = WINDOW_MS): Admitted {
  // The commonest call of all: every chamber is asked at every turn.
  if (readings.length === 0 && buffer.oldestReceipt > now - windowMs) return { buffer, ready: NONE };
  const ready: Reading[] = [];
  const fresh: Reading[] = [];
  let { newest, late, leftOut, duplicates } = buffer;
  let latest: Map<string, Reading> | null = null;
  const handOn = (reading: Reading): void => {
    latest ??= new Map(buffer.latest);
    latest.set(reading.signal, reading);
    ready.push(reading);
  };
  for (const reading of readings) {
    if (reading.at > newest) newest = reading.at;
    if (reading.at > buffer.doneTo) {
      fresh.push(reading);
      continue;
    }
    const known = (latest ?? buffer.latest).get(reading.signal);
    if (known !== undefined && isSame(known, reading)) {
      duplicates++;
      continue;
    }
    late++;
    if (known === undefined || known.at <= reading.at) handOn(reading);
    else leftOut++;
  }
  const wereLate = ready.length > 0;
  const merged = merge(buffer.waiting, fresh);
  duplicates += buffer.waiting.length + fresh.length - merged.length;
  const doneTo = Math.max(buffer.doneTo, newest - windowMs);
  const split = releasable(merged, doneTo, now - windowMs);
  for (let i = 0; i < split; i++) handOn(merged[i] as Reading);
  if (wereLate) ready.sort(byTime);
  const handedTo = Math.max(doneTo, merged[split - 1]?.at ?? 0);
  const waiting = split === 0 ? merged : merged.slice(split);
  const oldestReceipt = waiting.reduce((oldest, { receivedAt }) => Math.min(oldest, receivedAt), Infinity);
  return {
    buffer: { waiting, oldestReceipt, doneTo: handedTo, newest, latest: latest ?? buffer.latest, late, leftOut, duplicates },
    ready,
  };
}

/** How many of the waiting leave now: by event time, or because they and all before them were received long enough ago. */
function releasable(waiting: readonly Reading[], doneTo: number, receivedTo: number): number {
  let split = 0;
  for (let i = 0; i < waiting.length; i++) {
    const { at, receivedAt } = waiting[i] as Reading;
    if (at <= doneTo || receivedAt <= receivedTo) split = i + 1;
  }
  while (split > 0 && split < waiting.length && waiting[split]?.at === waiting[split - 1]?.at) split++;
  return split;
}

/** Stable: of two values of one signal at one instant the later told is the newer word. */
const byTime = (a: Reading, b: Reading): number => a.at - b.at || (a.signal < b.signal ? -1 : a.signal > b.signal ? 1 : 0);

const isSame = (a: Reading, b: Reading): boolean =>
  a.at === b.at && a.signal === b.signal && a.value === b.value && a.quality === b.quality;

/** [OR3] */
function merge(waiting: readonly Reading[], fresh: readonly Reading[]): readonly Reading[] {
  if (fresh.length === 0) return waiting;
  const all = [...waiting, ...fresh].sort(byTime);
  return all.filter((reading, i) => i === 0 || !isSame(all[i - 1] as Reading, reading));
}
