/**
 * Keeps what the instruments showed: samples gather in memory, go to the store packed once a minute of plant time, become one segment an
 * hour, and are forgotten after some weeks. Bulk, not books: up to a minute may be lost with the process, and no number rests on it.
 * A steady value is told once: what is held is written again at each full hour, so that whoever looks an hour back finds what held. Of a
 * signal not known before, an old word says what holds now, and stands where it was received; before that nobody knows. So does a word from
 * before a gap that is told again after it.
 */
import type { Trace } from '../src/contract.ts';
import type { Reading } from '../src/reading.ts';
import { SIGNALS, isSignalName, type Signal } from '../src/signal.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../src/zone.ts';
import { joinTraces, packTrace, unpackTrace, type TraceColumn } from './store/trace-pack.ts';
import type { TraceSegment, TraceStore } from './store/store.ts';

/**
 * With each hour that passes no more than this much of the oldest is forgotten: twice what comes. A machine clock that jumps ahead makes all of it
 * old at once, and there is time to set it right.
 */
const MOST_FORGOTTEN_MS = 2 * HOUR_MS;
/** An older word tells what holds, not what happens. */
const FRESH_MS = 60_000;
/** A chamber that floods the recorder is written early. */
const MOST_SAMPLES = 200_000;

type Column = { readonly at: number[]; readonly value: number[] };
export type Held = { readonly value: number; readonly receivedAt: number };
/** `held` is the last value of each signal, NaN in a gap; `hour` the begin of the hour of the last reading. */
type Buffer = { readonly columns: Map<Signal, Column>; readonly held: Map<Signal, Held>; samples: number; hour: number };

export type RecorderParts = { readonly store: TraceStore; readonly keepDays?: number };

export class TraceRecorder {
  readonly #store: TraceStore;
  readonly #keepMs: number;
  readonly #buffers = new Map<string, Buffer>();
  /** On its way to the disk: no longer in the buffers, not yet in the store. */
  #leaving: readonly TraceSegment[] = [];
  #flushedTo = -Infinity;
  #mergedTo: number | null = null;
  #busy: Promise<void> = Promise.resolve();

  constructor(parts: RecorderParts) {
    this.#store = parts.store;
    this.#keepMs = (parts.keepDays ?? 30) * DAY_MS;
  }

  record(readings: readonly Reading[]): void {
    for (const reading of readings) this.#add(reading);
  }

  /** To be called often with plant time: writes, merges and forgets when it is time to. Rejects when the store does. */
  tick(now: number): Promise<void> {
    const full = [...this.#buffers.values()].some((buffer) => buffer.samples > MOST_SAMPLES);
    if (now < this.#flushedTo + MINUTE_MS && now >= this.#flushedTo && !full) return Promise.resolve();
    this.#flushedTo = now;
    this.#busy = this.#busy.then(() => this.#write(now));
    return this.#busy;
  }

  /** Writes what is left. */
  async stop(): Promise<void> {
    await this.#busy;
    await this.#flush();
  }

  /** What was recorded in [from, to), the unwritten minute included. A null value is a gap. */
  async read(query: { chamber: string; signals: readonly string[]; from: number; to: number }): Promise<Trace> {
    const only = new Set(query.signals);
    // Taken before waiting: all of it may be written meanwhile, and then the store answers with the same samples again.
    const fresh = columnsOf(this.#buffers.get(query.chamber)).filter((column) => only.has(column.signal));
    const leaving = this.#leaving.filter(({ chamber }) => chamber === query.chamber);
    const segments = [...(await this.#store.traces(query.chamber, query.from, query.to)), ...leaving];
    const joined = joinTraces([...segments.map((segment) => unpackTrace(segment.from, segment.packed, only)), fresh]);
    const columns = new Map(joined.map((column) => [column.signal, column]));
    return {
      chamber: query.chamber,
      from: query.from,
      to: query.to,
      signals: query.signals.map((signal) => ({ signal, ...between(columns.get(signal), query.from, query.to) })),
    };
  }

  #add(reading: Reading): void {
    const buffer: Buffer = this.#buffers.get(reading.chamber) ?? { columns: new Map(), held: new Map(), samples: 0, hour: Infinity };
    this.#buffers.set(reading.chamber, buffer);
    if (reading.signal === 'link.alive' && reading.value === false) return gap(buffer, reading.at);
    const value = sampleOf(reading);
    const known = buffer.held.get(reading.signal);
    const at = standsAt(reading, known);
    turnHour(buffer, at);
    if (value !== undefined) sample(buffer, reading.signal, at, { value, receivedAt: reading.receivedAt });
  }

  async #flush(): Promise<void> {
    this.#leaving = this.#takeSegments();
    await this.#store.appendTraces(this.#leaving);
    this.#leaving = [];
  }

  async #write(now: number): Promise<void> {
    await this.#flush();
    const hour = Math.floor(now / HOUR_MS) * HOUR_MS;
    // The clock may have been set back.
    this.#mergedTo = Math.min(this.#mergedTo ?? hour, hour);
    if (hour === this.#mergedTo) return;
    const from = Math.max(this.#mergedTo, hour - DAY_MS);
    for (const chamber of this.#buffers.keys()) {
      for (let start = from; start < hour; start += HOUR_MS) await this.#mergeHour(chamber, start);
    }
    this.#mergedTo = hour;
    await this.#store.forgetTraces(now - this.#keepMs, MOST_FORGOTTEN_MS);
  }

  #takeSegments(): TraceSegment[] {
    return [...this.#buffers].flatMap(([chamber, buffer]) => {
      const segments = segmentsOf(chamber, columnsOf(buffer));
      buffer.columns.clear();
      buffer.samples = 0;
      return segments;
    });
  }

  async #mergeHour(chamber: string, from: number): Promise<void> {
    const to = from + HOUR_MS;
    const inside = (await this.#store.traces(chamber, from, to)).filter((segment) => segment.from >= from && segment.to <= to);
    if (inside.length < 2) return;
    const columns = joinTraces(inside.map((segment) => unpackTrace(segment.from, segment.packed)));
    await this.#store.replaceTraces({ chamber, from, to, packed: packTrace(from, columns) });
  }
}

// An out-of-order sample is too late for the trace; the books have their own ordering.
function sample(buffer: Buffer, signal: Signal, at: number, held: Held): void {
  const column: Column = buffer.columns.get(signal) ?? { at: [], value: [] };
  if (at < (column.at.at(-1) ?? -Infinity)) return;
  buffer.columns.set(signal, column);
  column.at.push(at);
  column.value.push(held.value);
  buffer.held.set(signal, held);
  buffer.samples += 1;
}

/** From here on nothing is known of this chamber, but of signals whose last word came later and says that nothing has changed since before. */
function gap(buffer: Buffer, at: number): void {
  for (const [signal, { value, receivedAt }] of buffer.held) {
    if (!Number.isNaN(value) && receivedAt <= at) sample(buffer, signal, at, { value: Number.NaN, receivedAt: at });
  }
}

/** What is held at each full hour that has passed. */
function turnHour(buffer: Buffer, at: number): void {
  const hour = Math.floor(at / HOUR_MS) * HOUR_MS;
  if (buffer.hour === Infinity) buffer.hour = hour;
  for (let next = Math.max(buffer.hour + HOUR_MS, hour - DAY_MS); next <= hour; next += HOUR_MS) {
    for (const [signal, held] of buffer.held) if (!Number.isNaN(held.value)) sample(buffer, signal, next, held);
  }
  buffer.hour = Math.max(buffer.hour, hour);
}

/** One segment per hour that the samples touch, so that hours can be merged whole. */
function segmentsOf(chamber: string, columns: readonly TraceColumn[]): TraceSegment[] {
  const starts = new Set<number>();
  for (const { at } of columns) for (const time of at) starts.add(Math.floor(time / HOUR_MS) * HOUR_MS);
  return [...starts]
    .sort((a, b) => a - b)
    .map((start) => {
      const parts = columns
        .map((column) => ({ signal: column.signal, ...slice(column, start, start + HOUR_MS) }))
        .filter((c) => c.at.length > 0);
      const from = Math.min(...parts.map((column) => column.at[0] as number));
      const to = Math.max(...parts.map((column) => column.at.at(-1) as number)) + 1;
      return { chamber, from, to, packed: packTrace(from, parts) };
    });
}

const columnsOf = (buffer: Buffer | undefined): TraceColumn[] =>
  [...(buffer?.columns ?? [])].map(([signal, column]) => ({ signal, at: [...column.at], value: [...column.value] }));

function slice(column: Column | TraceColumn, from: number, to: number): { at: number[]; value: number[] } {
  const picked: { at: number[]; value: number[] } = { at: [], value: [] };
  column.at.forEach((at, i) => {
    if (at < from || at >= to) return;
    picked.at.push(at);
    picked.value.push(column.value[i] as number);
  });
  return picked;
}

function between(column: TraceColumn | undefined, from: number, to: number): { at: number[]; value: (number | null)[] } {
  const { at, value } = column === undefined ? { at: [], value: [] } : slice(column, from, to);
  return { at, value: value.map((v) => (Number.isNaN(v) ? null : v)) };
}

/** When a word counts from; `known` is what held before it, NaN in a gap. */
export function standsAt({ at, receivedAt }: Reading, known: Held | undefined): number {
  const isNews = known === undefined || Number.isNaN(known.value);
  const isFromBefore = known !== undefined && at < known.receivedAt;
  return isNews && (receivedAt - at > FRESH_MS || isFromBefore) ? receivedAt : at;
}

/** The number to keep, NaN for a gap, undefined for what is no trace (texts, alarms, the heartbeat). */
export function sampleOf({ signal, value, quality }: Reading): number | undefined {
  if (!isSignalName(signal) || signal === 'controller.heartbeat' || SIGNALS[signal].kind === 'text') return undefined;
  if (quality === 'bad' || value === null) return Number.NaN;
  return typeof value === 'boolean' ? Number(value) : typeof value === 'number' ? value : undefined;
}
