/**
 * Values as columns, for passing many between processes at the price of a few typed arrays.
 * A name is whatever both ends agreed on: `<chamber>\t<signal>` between link and pipeline, a node id in a simulated history.
 */
export type BatchValue = number | boolean | string | null;

export type Batch = {
  readonly names: readonly string[];
  readonly texts: readonly string[];
  readonly name: Uint32Array;
  /** Epoch ms. */
  readonly at: Float64Array;
  /** The number; 0 or 1 of a boolean; the index in `texts`. */
  readonly value: Float64Array;
  /** Bits 0-1: number, boolean, text, null. Bits 2-7: `tag`, a small number of the sender's (quality, clock). */
  readonly kind: Uint8Array;
};

const NUMBER = 0;
const BOOLEAN = 1;
const TEXT = 2;
const NULL = 3;

/** Collects values and hands them over as a batch. `tag` is 0..63. */
export type BatchBuilder = {
  add(name: string, at: number, value: BatchValue, tag?: number): void;
  /** The batch so far, and an empty builder again. */
  take(): Batch;
  readonly size: () => number;
};

export function batchBuilder(): BatchBuilder {
  let names = new Map<string, number>();
  let texts = new Map<string, number>();
  let name: number[] = [];
  let at: number[] = [];
  let value: number[] = [];
  let kind: number[] = [];
  const index = (table: Map<string, number>, key: string): number => {
    const known = table.get(key);
    if (known !== undefined) return known;
    table.set(key, table.size);
    return table.size - 1;
  };
  return {
    add(itemName, itemAt, item, tag = 0) {
      name.push(index(names, itemName));
      at.push(itemAt);
      const type = item === null ? NULL : typeof item === 'number' ? NUMBER : typeof item === 'boolean' ? BOOLEAN : TEXT;
      value.push(typeof item === 'string' ? index(texts, item) : Number(item ?? 0));
      kind.push(type | (tag << 2));
    },
    take() {
      const batch = {
        names: [...names.keys()],
        texts: [...texts.keys()],
        name: Uint32Array.from(name),
        at: Float64Array.from(at),
        value: Float64Array.from(value),
        kind: Uint8Array.from(kind),
      };
      names = new Map();
      texts = new Map();
      [name, at, value, kind] = [[], [], [], []];
      return batch;
    },
    size: () => name.length,
  };
}

/** Calls `each` for every value in order. */
export function eachInBatch(batch: Batch, each: (name: string, at: number, value: BatchValue, tag: number) => void): void {
  for (let i = 0; i < batch.name.length; i++) {
    const kind = batch.kind[i] as number;
    const number = batch.value[i] as number;
    const type = kind & 3;
    const value = type === NUMBER ? number : type === BOOLEAN ? number === 1 : type === TEXT ? (batch.texts[number] as string) : null;
    each(batch.names[batch.name[i] as number] as string, batch.at[i] as number, value, kind >> 2);
  }
}
