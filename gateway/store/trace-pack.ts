/**
 * The bytes of a trace segment: one chamber's samples of a minute or an hour, by column, in a file format of our own that any program can read.
 *
 *   byte 0..3   'GFT1'
 *   rest        zstd frame (RFC 8878) of:
 *     varint    number of signals, then per signal:
 *       varint    length of its name in bytes, name in UTF-8
 *       varint    number of samples n
 *       varint*n  times: the first as ms since the segment's `from`, each other as ms since the one before
 *       byte      4 = IEEE 754 binary32, 8 = binary64, little endian
 *       4n or 8n  values; NaN is a gap (nothing is known from here to the next sample)
 *
 * varint is base 128, least group first (as in the Protocol Buffers encoding). Samples are in order of time. binary32 keeps seven digits,
 * more than any gauge gives; a column with a whole number too large for that (hour meters) is kept as binary64.
 */
import { zstdCompressSync, zstdDecompressSync } from 'node:zlib';
import { Fault } from '../../src/fault.ts';

/** `value` NaN is a gap. Times are epoch ms, ascending. */
export type TraceColumn = { readonly signal: string; readonly at: readonly number[]; readonly value: readonly number[] };

const MAGIC = Buffer.from('GFT1');

export function packTrace(from: number, columns: readonly TraceColumn[]): Uint8Array {
  const parts: Uint8Array[] = [varints([columns.length])];
  for (const column of columns) {
    const name = Buffer.from(column.signal);
    parts.push(varints([name.length]), name, varints([column.at.length, ...deltas(from, column.at)]), values(column.value));
  }
  return Buffer.concat([MAGIC, zstdCompressSync(Buffer.concat(parts))]);
}

/** Fails `unreadable` on anything that is not a whole segment. `only` names the signals wanted. */
export function unpackTrace(from: number, packed: Uint8Array, only?: ReadonlySet<string>): TraceColumn[] {
  const bytes = Buffer.from(packed.buffer, packed.byteOffset, packed.byteLength);
  if (!bytes.subarray(0, 4).equals(MAGIC)) throw new Fault('unreadable', 'A stored trace does not begin with GFT1.');
  try {
    return readColumns(new Reader(zstdDecompressSync(bytes.subarray(4))), from, only);
  } catch (error) {
    throw new Fault('unreadable', 'A stored trace is cut or damaged.', error);
  }
}

function readColumns(reader: Reader, from: number, only: ReadonlySet<string> | undefined): TraceColumn[] {
  const columns: TraceColumn[] = [];
  for (let left = reader.varint(); left > 0; left -= 1) {
    const signal = reader.bytes(reader.varint()).toString();
    const n = reader.varint();
    let time = from;
    const at = Array.from({ length: n }, () => (time += reader.varint()));
    const value = reader.floats(n);
    if (only === undefined || only.has(signal)) columns.push({ signal, at, value });
  }
  return columns;
}

function deltas(from: number, at: readonly number[]): number[] {
  return at.map((time, i) => {
    const delta = time - (i === 0 ? from : (at[i - 1] as number));
    if (!Number.isSafeInteger(delta) || delta < 0)
      throw new Fault('internal', `Trace times must ascend in whole ms: ${time} after ${time - delta}.`);
    return delta;
  });
}

function varints(numbers: readonly number[]): Uint8Array {
  const bytes: number[] = [];
  for (let number of numbers) {
    for (; number >= 0x80; number = Math.floor(number / 0x80)) bytes.push((number % 0x80) | 0x80);
    bytes.push(number);
  }
  return Uint8Array.from(bytes);
}

function values(column: readonly number[]): Uint8Array {
  const width = column.some((value) => Number.isInteger(value) && Math.fround(value) !== value) ? 8 : 4;
  const bytes = Buffer.alloc(1 + width * column.length);
  bytes.writeUInt8(width, 0);
  column.forEach((value, i) => (width === 8 ? bytes.writeDoubleLE(value, 1 + 8 * i) : bytes.writeFloatLE(value, 1 + 4 * i)));
  return bytes;
}

class Reader {
  readonly #bytes: Buffer;
  #at = 0;

  constructor(bytes: Buffer) {
    this.#bytes = bytes;
  }

  varint(): number {
    let number = 0;
    for (let factor = 1; ; factor *= 0x80) {
      const byte = this.#bytes.readUInt8(this.#at++);
      number += (byte & 0x7f) * factor;
      if (byte < 0x80) return number;
    }
  }

  bytes(length: number): Buffer {
    const end = this.#at + length;
    if (end > this.#bytes.length) throw new RangeError(`${length} bytes wanted at ${this.#at} of ${this.#bytes.length}`);
    const part = this.#bytes.subarray(this.#at, end);
    this.#at = end;
    return part;
  }

  floats(n: number): number[] {
    const width = this.bytes(1).readUInt8(0);
    const raw = this.bytes(n * width);
    return Array.from({ length: n }, (_, i) => (width === 8 ? raw.readDoubleLE(8 * i) : raw.readFloatLE(4 * i)));
  }
}

/** Segments of one chamber as one set of columns, in order of time; of two samples of the same instant the later written one stands. */
export function joinTraces(segments: readonly (readonly TraceColumn[])[]): TraceColumn[] {
  const bySignal = new Map<string, Map<number, number>>();
  for (const column of segments.flat()) {
    const samples = bySignal.get(column.signal) ?? new Map<number, number>();
    bySignal.set(column.signal, samples);
    column.at.forEach((at, i) => samples.set(at, column.value[i] as number));
  }
  return [...bySignal].map(([signal, samples]) => {
    const sorted = [...samples].sort((a, b) => a[0] - b[0]);
    return { signal, at: sorted.map(([at]) => at), value: sorted.map(([, value]) => value) };
  });
}
