/**
 * Values on their way to the gateway: sent every 200 ms or 2000 values, in few messages. When the gateway does not take them, at most
 * 200 000 wait; what comes beyond is dropped, counted, and told as a hole in the word of the chambers concerned.
 */
import type { Batch, BatchValue } from '../../src/batch.ts';
import type { TagTarget } from '../../src/tag-map.ts';
import { Columns } from './columns.ts';

/** A message between processes costs as much as a hundred values in it, and they wait longer for late ones anyway. */
const FLUSH_MS = 200;
const FLUSH_VALUES = 2000;
const MOST_WAITING_BATCHES = 100;
const MOST_ON_THE_WAY = 32;

/** Sends one batch; `done` when the other side's pipe has taken it. */
export type SendBatch = (batch: Batch, done: () => void) => void;

export class Outbox {
  dropped = 0;
  readonly #send: SendBatch;
  readonly #columns = new Columns(FLUSH_VALUES);
  readonly #waiting: Batch[] = [];
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
    if (this.#isFull()) return this.#drop(target, at);
    if (this.#holes.size > 0) this.#tellHoles();
    this.#put(target.name, at, value, tag);
  }

  flush(): void {
    if (this.#columns.size > 0 && !this.#isFull()) this.#close();
    else this.#pump();
  }

  #put(name: string, at: number, value: BatchValue, tag: number): void {
    this.#columns.add(name, at, value, tag);
    if (this.#columns.size === FLUSH_VALUES) this.#close();
  }

  #close(): void {
    this.#waiting.push(this.#columns.take());
    this.#pump();
  }

  #pump(): void {
    while (this.#onTheWay < MOST_ON_THE_WAY && this.#waiting.length > 0) {
      this.#onTheWay++;
      this.#send(this.#waiting.shift() as Batch, () => this.#onTheWay--);
    }
  }

  #isFull(): boolean {
    return this.#waiting.length >= MOST_WAITING_BATCHES;
  }

  #drop(target: TagTarget, at: number): void {
    this.dropped++;
    if (!this.#holes.has(target.chamber)) this.#holes.set(target.chamber, at);
  }

  #tellHoles(): void {
    const holes = [...this.#holes];
    this.#holes.clear();
    for (const [chamber, at] of holes) this.#put(`${chamber}\tlink.alive`, at, false, 0);
  }
}
