/**
 * What the instruments of each chamber told during its running run, in memory, for the record made at its end. It hears the same readings as
 * the reducer, in the same order, by the rules of the recorded traces: seven digits, a silence is a gap, and of a signal not known before an old word
 * stands where it was received.
 * - While no run is open only the last minutes are kept, and of each signal what holds.
 * - A run that never ends costs no more than so many samples: its oldest fall off, and what they would have told is not known. All runs together
 *   are bounded as well; then the longest lose their oldest.
 */
import type { ChamberState } from '../src/chamber-state.ts';
import type { Trace } from '../src/contract.ts';
import type { ChamberEvent, EventOf } from '../src/event.ts';
import type { Sample } from '../src/integral.ts';
import type { Reading } from '../src/reading.ts';
import { RECORD_SIGNALS, type RecordSeries } from '../src/run-record-input.ts';
import type { Signal, SignalName } from '../src/signal.ts';
import { sampleOf, standsAt } from './trace-recorder.ts';

type Alarm = EventOf<'alarm'>;
type Finding = EventOf<'finding'>;
/** `value` NaN is a gap. */
type Column = { at: number[]; value: number[]; receivedAt: number };
type Kept = { readonly columns: Map<Signal, Column>; alarms: Alarm[]; findings: Finding[]; samples: number; trimAt: number };

const WANTED: ReadonlySet<string> = new Set(RECORD_SIGNALS);
const KEEP_MS = 5 * 60_000;
const TRIM_EVERY_MS = 60_000;
/** A run of the demo plant has some 5 000 at one reading a second; 5 million take about 100 MB. */
const MOST: MostSamples = { ofOne: 200_000, together: 5_000_000 };
/** So many readings lie between two looks at all chambers together. */
const LOOK_EVERY = 1_000;
const MOST_ALARMS = 2_000;
const MOST_FINDINGS = 200;

export type MostSamples = { readonly ofOne: number; readonly together: number };

export class RunSamples {
  readonly #chambers = new Map<string, Kept>();
  readonly #most: MostSamples;
  #tidied = 0;

  constructor(most: Partial<MostSamples> = {}) {
    this.#most = { ...MOST, ...most };
  }

  /** A reading that was just observed. */
  take(reading: Reading): void {
    const { chamber, signal, value, at } = reading;
    if (signal === 'link.alive') {
      if (value === false) gap(this.#of(chamber), at);
    } else if (WANTED.has(signal)) {
      const sample = sampleOf(reading);
      if (sample !== undefined) this.#add(reading, sample);
    }
  }

  hear(chamber: string, events: readonly ChamberEvent[]): void {
    for (const event of events) {
      const kept = this.#of(chamber);
      if (event.kind === 'finding') kept.findings = [...kept.findings.slice(-MOST_FINDINGS), event];
      if (event.kind !== 'alarm' || event.change !== 'activated') continue;
      kept.alarms.push(event);
      if (kept.alarms.length > MOST_ALARMS) kept.alarms = kept.alarms.slice(-MOST_ALARMS / 2);
    }
  }

  /** What was recorded before a restart: `trace` up to `knownTo`, from there nobody knows. Only for a chamber nothing was taken of yet. */
  refill(chamber: string, past: { readonly trace: Trace; readonly knownTo: number; readonly told: readonly ChamberEvent[] }): void {
    if (this.#chambers.has(chamber)) return;
    const kept = this.#of(chamber);
    for (const { signal, at, value } of past.trace.signals) {
      const column: Column = { at: [], value: [], receivedAt: 0 };
      at.forEach((time, i) => put(kept, column, time, value[i] ?? Number.NaN));
      if (at.length > 0) kept.columns.set(signal as Signal, column);
    }
    gap(kept, past.knownTo);
    this.hear(chamber, past.told);
  }

  /** Whether anything was taken of this chamber since the start. */
  knows(chamber: string): boolean {
    return this.#chambers.has(chamber);
  }

  series(chamber: string): RecordSeries {
    const columns = this.#chambers.get(chamber)?.columns ?? new Map<Signal, Column>();
    return new Map([...columns].map(([signal, column]) => [signal as SignalName, samplesOf(column)]));
  }

  alarms(chamber: string): readonly Alarm[] {
    return this.#chambers.get(chamber)?.alarms ?? [];
  }

  findings(chamber: string): readonly Finding[] {
    return this.#chambers.get(chamber)?.findings ?? [];
  }

  /** To be called after each reading, when all that it ended is made: lets go of what is too old or too much. */
  tidy(chamber: string, { now, run }: ChamberState): void {
    const kept = this.#chambers.get(chamber);
    if (kept === undefined) return;
    if (run === null && now >= kept.trimAt + TRIM_EVERY_MS) {
      kept.trimAt = now;
      for (const column of kept.columns.values()) kept.samples -= cut(column, now - KEEP_MS);
      kept.alarms = kept.alarms.filter(({ at }) => at >= now - KEEP_MS);
      kept.findings = kept.findings.filter(({ at }) => at >= now - KEEP_MS);
    }
    if (kept.samples > this.#most.ofOne) halve(kept);
    this.#tidied += 1;
    if (this.#tidied % LOOK_EVERY === 0) this.#boundAll();
  }

  #boundAll(): void {
    const all = [...this.#chambers.values()];
    const longest = all.reduce<Kept | null>((most, kept) => (most === null || kept.samples > most.samples ? kept : most), null);
    if (longest !== null && all.reduce((sum, { samples }) => sum + samples, 0) > this.#most.together) halve(longest);
  }

  #of(chamber: string): Kept {
    const known = this.#chambers.get(chamber);
    if (known !== undefined) return known;
    const kept: Kept = { columns: new Map(), alarms: [], findings: [], samples: 0, trimAt: 0 };
    this.#chambers.set(chamber, kept);
    return kept;
  }

  #add(reading: Reading, value: number): void {
    const { chamber, signal, receivedAt } = reading;
    const kept = this.#of(chamber);
    const column: Column = kept.columns.get(signal) ?? { at: [], value: [], receivedAt };
    kept.columns.set(signal, column);
    const held = column.value.at(-1);
    const from = standsAt(reading, held === undefined ? undefined : { value: held, receivedAt: column.receivedAt });
    column.receivedAt = reading.receivedAt;
    put(kept, column, from, value);
  }
}

/** Too late for its place, or the same word again: nothing new. Digits are kept as in the recorded traces. */
function put(kept: Kept, { at, value }: Column, time: number, told: number): void {
  const next = Number.isInteger(told) ? told : Math.fround(told);
  if (time < (at.at(-1) ?? -Infinity) || Object.is(value.at(-1), next)) return;
  at.push(time);
  value.push(next);
  kept.samples += 1;
}

/** From here on nothing is known, but of signals whose last word came later. */
function gap(kept: Kept, from: number): void {
  for (const column of kept.columns.values()) {
    if (column.receivedAt > from || Number.isNaN(column.value.at(-1))) continue;
    put(kept, column, from, Number.NaN);
    column.receivedAt = from;
  }
}

function halve(kept: Kept): void {
  for (const { at, value } of kept.columns.values()) {
    const half = at.length >> 1;
    at.splice(0, half);
    value.splice(0, half);
    kept.samples -= half;
  }
}

/** Removes what is older but for the last word before; how many fell off. */
function cut({ at, value }: Column, before: number): number {
  const first = at.findIndex((time) => time >= before);
  const old = (first < 0 ? at.length : first) - 1;
  if (old <= 0) return 0;
  at.splice(0, old);
  value.splice(0, old);
  return old;
}

const samplesOf = ({ at, value }: Column): readonly Sample[] =>
  at.map((time, i) => ({ at: time, value: Number.isNaN(value[i]) ? null : (value[i] as number) }));
