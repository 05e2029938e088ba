/**
 * From one server's values to readings in the outbox: time judged, quality kept, holes told. The hot path: no strings are made and
 * nothing is allocated per value beyond the outbox's columns.
 */
import type { DataValue } from 'node-opcua';
import { conditionReadings, forgetWords, qualityOf, readingsOf } from '../../src/tag-map.ts';
import type { ConditionWord, EachValue, TagNode, TagTarget, WordMemory } from '../../src/tag-map.ts';
import type { EventStamps, EventTime } from './event-time.ts';
import type { Outbox } from './outbox.ts';
import { bitsOf, rawValue } from './raw-value.ts';
import { BAD, FROM_ARCHIVE, FROM_RECEIPT, FROM_SOURCE, GOOD, packTag, QUALITIES } from './wire.ts';

/** OPC 10000-4 7.39: info type DataValue (0x400) with the Overflow bit (0x80): values before this one were lost in the server's queue. */
const OVERFLOW = 0x480;

/** True when values before one of these were lost in the server's queue. */
export const overflowed = (values: readonly TagValue[]): boolean =>
  values.some(({ value }) => (value.statusCode.value & OVERFLOW) === OVERFLOW);

/** A value with the number of its tag in the server's table. */
export type TagValue = { readonly tag: number; readonly value: DataValue };

export type IntakeParts = {
  readonly nodes: readonly TagNode[];
  readonly clocks: ReadonlyMap<string, EventTime>;
  readonly outbox: Outbox;
  /** The link.alive target of a chamber. */
  readonly presence: ReadonlyMap<string, TagTarget>;
};

export class Intake {
  values = 0;
  overflows = 0;
  readonly #parts: IntakeParts;
  readonly #clockOfTag: readonly EventTime[];
  /** The link.hole target of a chamber. */
  readonly #holeOf: ReadonlyMap<string, TagTarget>;
  readonly #lastAt: Float64Array;
  readonly #words: WordMemory = new Map();
  #at = 0;
  #origin = FROM_SOURCE;

  constructor(parts: IntakeParts) {
    this.#parts = parts;
    this.#clockOfTag = parts.nodes.map(({ targets }) => parts.clocks.get((targets[0] as TagTarget).chamber) as EventTime);
    this.#holeOf = new Map([...parts.presence].map(([chamber, target]) => [chamber, holeTarget(target)]));
    this.#lastAt = new Float64Array(parts.nodes.length).fill(Number.NaN);
  }

  /** One message. `fresh` values changed just now, so their stamps also tell how the clocks go. */
  message(values: readonly TagValue[], receivedAt: number, fresh: boolean): void {
    if (!fresh) this.#glimpse(values, receivedAt);
    const holes = this.#findHoles(values, receivedAt);
    for (let i = 0; i < values.length; i++) {
      const { tag, value } = values[i] as TagValue;
      this.#value(tag, value, receivedAt, fresh);
    }
    for (const hole of holes) this.#parts.outbox.add(hole.target, hole.to, hole.from, packTag(GOOD, FROM_SOURCE));
    if (fresh) for (const clock of this.#parts.clocks.values()) clock.endOfMessage();
  }

  /** Values read back, in order of time, of the chambers whose clocks are believed. */
  archived(values: readonly TagValue[], chambers: ReadonlySet<string>): void {
    this.#origin = FROM_ARCHIVE;
    for (const { tag, value } of values) {
      const node = this.#parts.nodes[tag] as TagNode;
      if (!node.targets.every(({ chamber }) => chambers.has(chamber))) continue;
      this.values++;
      this.#at = stamp(value.sourceTimestamp);
      this.#lastAt[tag] = this.#at;
      this.#read(node, value);
    }
  }

  /** A silence is a gap in every signal: the next word tells all its bits. */
  forgetWords(): void {
    forgetWords(this.#words);
  }

  /** A tag that the server will not read: said once, at our receipt. */
  unreadable(tag: number, at: number): void {
    this.#at = at;
    this.#origin = FROM_RECEIPT;
    readingsOf(this.#parts.nodes[tag] as TagNode, null, 'bad', this.#words, this.#emit);
  }

  condition(node: TagNode, word: ConditionWord, stamps: EventStamps, receivedAt: number): void {
    const clock = this.#parts.clocks.get((node.targets[0] as TagTarget).chamber) as EventTime;
    clock.judgeEvent(stamps, receivedAt);
    this.#at = clock.at;
    this.#origin = clock.origin;
    conditionReadings(node, word, this.#words, this.#emit);
  }

  /** The clocks as far as values tell that may have changed long ago: all of a message before any of them is judged. */
  #glimpse(values: readonly TagValue[], receivedAt: number): void {
    for (const { tag, value } of values)
      (this.#clockOfTag[tag] as EventTime).glimpsed(stamp(value.sourceTimestamp), stamp(value.serverTimestamp), receivedAt);
  }

  #value(tag: number, value: DataValue, receivedAt: number, fresh: boolean): void {
    this.values++;
    const source = stamp(value.sourceTimestamp);
    const server = stamp(value.serverTimestamp);
    const clock = this.#clockOfTag[tag] as EventTime;
    if (fresh) {
      clock.fresh(source, server, receivedAt);
      clock.judgeFresh(source, server, receivedAt);
    } else clock.judge(source, server, receivedAt);
    this.#at = clock.at;
    this.#origin = clock.origin;
    this.#lastAt[tag] = this.#at;
    this.#read(this.#parts.nodes[tag] as TagNode, value);
  }

  #read(node: TagNode, { value, statusCode }: DataValue): void {
    readingsOf(node, rawValue(value), qualityOf(statusCode.value), this.#words, this.#emit, bitsOf(value.dataType));
  }

  #judge(clock: EventTime, sourceMs: number, serverMs: number, receivedAt: number): void {
    clock.judge(sourceMs, serverMs, receivedAt);
    this.#at = clock.at;
    this.#origin = clock.origin;
  }

  readonly #emit: EachValue = (target, value, quality) => {
    const level = quality === 'good' ? GOOD : quality === 'bad' ? BAD : QUALITIES.indexOf(quality);
    this.#parts.outbox.add(target, this.#at, value, packTag(level, this.#origin));
  };

  /** Per chamber, from the last value before the first loss to the last value after a loss. */
  #findHoles(values: readonly TagValue[], receivedAt: number): readonly { target: TagTarget; from: number; to: number }[] {
    let holes: Map<string, { target: TagTarget; from: number; to: number }> | null = null;
    for (let i = 0; i < values.length; i++) {
      const { tag, value } = values[i] as TagValue;
      if ((value.statusCode.value & OVERFLOW) !== OVERFLOW) continue;
      this.overflows++;
      const before = this.#lastAt[tag] as number;
      if (Number.isNaN(before)) continue;
      holes ??= new Map();
      this.#judge(this.#clockOfTag[tag] as EventTime, stamp(value.sourceTimestamp), stamp(value.serverTimestamp), receivedAt);
      for (const { chamber } of (this.#parts.nodes[tag] as TagNode).targets) this.#widen(holes, chamber, before);
    }
    return holes ? [...holes.values()] : [];
  }

  #widen(holes: Map<string, { target: TagTarget; from: number; to: number }>, chamber: string, before: number): void {
    const hole = holes.get(chamber);
    const target = this.#holeOf.get(chamber);
    if (hole) Object.assign(hole, { from: Math.min(hole.from, before), to: Math.max(hole.to, this.#at) });
    else if (target) holes.set(chamber, { target, from: before, to: this.#at });
  }
}

const holeTarget = (alive: TagTarget): TagTarget => ({ ...alive, signal: 'link.hole', name: `${alive.chamber}\tlink.hole` });

const stamp = (date: Date | null | undefined): number => (date ? date.getTime() : 0);
