/**
 * Values packed into batches whose names are sent once: each batch lists only the names that are new since the last, and its name numbers
 * count through all of them. So a value costs 21 bytes and no string, however long the link lives.
 */
import type { Batch, BatchValue } from '../../src/batch.ts';

const NUMBER = 0;
const BOOLEAN = 1;
const TEXT = 2;
const NULL = 3;

export class Columns {
  size = 0;
  readonly #numbers = new Map<string, number>();
  #newNames: string[] = [];
  #texts: string[] = [];
  readonly #name: Uint32Array;
  readonly #at: Float64Array;
  readonly #value: Float64Array;
  readonly #kind: Uint8Array;

  constructor(capacity: number) {
    this.#name = new Uint32Array(capacity);
    this.#at = new Float64Array(capacity);
    this.#value = new Float64Array(capacity);
    this.#kind = new Uint8Array(capacity);
  }

  /** The caller takes the batch before the capacity is exceeded. */
  add(name: string, at: number, value: BatchValue, tag: number): void {
    const i = this.size++;
    this.#name[i] = this.#numberOf(name);
    this.#at[i] = at;
    this.#kind[i] = this.#put(i, value) | (tag << 2);
  }

  take(): Batch {
    const { size } = this;
    const batch = {
      names: this.#newNames,
      texts: this.#texts,
      name: this.#name.slice(0, size),
      at: this.#at.slice(0, size),
      value: this.#value.slice(0, size),
      kind: this.#kind.slice(0, size),
    };
    this.size = 0;
    this.#newNames = [];
    this.#texts = [];
    return batch;
  }

  #numberOf(name: string): number {
    const known = this.#numbers.get(name);
    if (known !== undefined) return known;
    const number = this.#numbers.size;
    this.#numbers.set(name, number);
    this.#newNames.push(name);
    return number;
  }

  #put(i: number, value: BatchValue): number {
    if (typeof value === 'number') {
      this.#value[i] = value;
      return NUMBER;
    }
    if (typeof value === 'string') {
      this.#value[i] = this.#texts.push(value) - 1;
      return TEXT;
    }
    this.#value[i] = value === true ? 1 : 0;
    return value === null ? NULL : BOOLEAN;
  }
}
