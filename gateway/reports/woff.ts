/**
 * A WOFF 1.0 file (W3C Recommendation, 13 December 2012, sections 3 to 5) unpacked to the OpenType file inside, once: the reader that PDFs use
 * would inflate it anew, in JavaScript, for every report.
 */
import { inflateSync } from 'node:zlib';

const HEADER_BYTES = 44;
const ENTRY_BYTES = 20;
const SFNT_HEADER_BYTES = 12;
const SFNT_ENTRY_BYTES = 16;
const aligned = (length: number): number => (length + 3) & ~3;

export function unpackedWoff(woff: Buffer): Buffer {
  if (woff.toString('latin1', 0, 4) !== 'wOFF') throw new Error('This is no WOFF 1.0 file.');
  const count = woff.readUInt16BE(12);
  const tables = Array.from({ length: count }, (_, i) => tableAt(woff, HEADER_BYTES + i * ENTRY_BYTES));
  const start = SFNT_HEADER_BYTES + count * SFNT_ENTRY_BYTES;
  const font = Buffer.alloc(start + tables.reduce((sum, { bytes }) => sum + aligned(bytes.length), 0));
  woff.copy(font, 0, 4, 8);
  const power = Math.floor(Math.log2(count));
  font.writeUInt16BE(count, 4);
  font.writeUInt16BE(16 * 2 ** power, 6);
  font.writeUInt16BE(power, 8);
  font.writeUInt16BE(16 * (count - 2 ** power), 10);
  let at = start;
  tables.forEach(({ tag, checksum, bytes }, i) => {
    const entry = SFNT_HEADER_BYTES + i * SFNT_ENTRY_BYTES;
    font.write(tag, entry, 'latin1');
    font.writeUInt32BE(checksum, entry + 4);
    font.writeUInt32BE(at, entry + 8);
    font.writeUInt32BE(bytes.length, entry + 12);
    bytes.copy(font, at);
    at += aligned(bytes.length);
  });
  return font;
}

type Table = { readonly tag: string; readonly checksum: number; readonly bytes: Buffer };

function tableAt(woff: Buffer, entry: number): Table {
  const [offset, packed, plain] = [woff.readUInt32BE(entry + 4), woff.readUInt32BE(entry + 8), woff.readUInt32BE(entry + 12)];
  const stored = woff.subarray(offset, offset + packed);
  return {
    tag: woff.toString('latin1', entry, entry + 4),
    checksum: woff.readUInt32BE(entry + 16),
    bytes: packed < plain ? inflateSync(stored) : stored,
  };
}
