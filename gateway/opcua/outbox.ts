/**
 * Values on their way to the gateway: sent every 100 ms or 2000 values, in few messages. When the gateway does not take them, at most
 * 200 000 wait; what comes beyond is dropped, counted, and told as a hole in the word of the chambers concerned.
 */
import { batchBuilder } from '../../src/batch.ts';
import type { Batch, BatchValue } from '../../src/batch.ts';
import type { TagTarget } from '../../src/tag-map.ts';

const FLUSH_MS = 100;
const FLUSH_VALUES = 2000;
const MOST_WAITING = 200_000;
const MOST_ON_THE_WAY = 32;

/** Sends one batch; `done` when the other side's pipe has taken it. */
export type SendBatch = (batch: Batch, done: () => void) => void;

export class Outbox {
  dropped = 0;
  readonly #send: SendBatch;
  readonly #builder = batchBuilder();
  #onTheWay = 0;
  #timer: NodeJS.Timeout | null = null;
  /** Chambers that lost values, and the time of the first lost one. */
  readonly #holes = new Map<string, number>();

  constructor(send: SendBatch) {
    this.#send = send;
  }

  start(): void {
    this.#timer = setInterval(() => this.flush(), FLUSH_MS);
  }

  stop(): void {
    if (this.#timer) clearInterval(this.#timer);
    this.flush();
  }

  add(target: TagTarget, at: number, value: BatchValue, tag: number): void {
    if (this.#builder.size() >= MOST_WAITING) return this.#drop(target, at);
    this.#builder.add(target.name, at, value, tag);
    if (this.#builder.size() >= FLUSH_VALUES) this.flush();
  }

  flush(): void {
    if (this.#builder.size() === 0 || this.#onTheWay >= MOST_ON_THE_WAY) return;
    this.#onTheWay++;
    this.#send(this.#builder.take(), () => this.#onTheWay--);
    for (const [chamber, at] of this.#holes) this.#builder.add(`${chamber}\tlink.alive`, at, false);
    this.#holes.clear();
  }

  #drop(target: TagTarget, at: number): void {
    this.dropped++;
    if (!this.#holes.has(target.chamber)) this.#holes.set(target.chamber, at);
  }
}
