import { inflateSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { BAR_WIDTH, BARS_HEIGHT, barsPng } from '../../../gateway/alerts/bars-png.ts';
import { htmlOf, type Message } from '../../../gateway/alerts/message.ts';

type Chunk = { readonly type: string; readonly data: Buffer; readonly crc: number };
/** Read by the standard, not by what wrote it: length, type, data, CRC (PNG, ISO/IEC 15948, clause 5). */
function chunks(png: Buffer): Chunk[] {
  expect(png.subarray(0, 8)).toEqual(Buffer.from('89504e470d0a1a0a', 'hex'));
  const found: Chunk[] = [];
  for (let at = 8; at < png.length;) {
    const length = png.readUInt32BE(at);
    found.push({
      type: png.toString('latin1', at + 4, at + 8),
      data: png.subarray(at + 8, at + 8 + length),
      crc: png.readUInt32BE(at + 8 + length),
    });
    at += 12 + length;
  }
  return found;
}

/** The sample code of the PNG specification, annex D. */
function crc(bytes: Buffer): number {
  let register = 0xffffffff;
  for (const byte of bytes) {
    register ^= byte;
    for (let bit = 0; bit < 8; bit += 1) register = register & 1 ? 0xedb88320 ^ (register >>> 1) : register >>> 1;
  }
  return (register ^ 0xffffffff) >>> 0;
}

/** Pixels that are not paper in the middle of each bar, the base line left out. */
function barHeights(png: Buffer, bars: number): number[] {
  const width = bars * BAR_WIDTH;
  const data = chunks(png).find(({ type }) => type === 'IDAT')?.data ?? Buffer.alloc(0);
  const pixels = inflateSync(data);
  expect(pixels).toHaveLength((width + 1) * BARS_HEIGHT);
  const at = (x: number, y: number): number => pixels[y * (width + 1) + 1 + x] ?? 0;
  return Array.from({ length: bars }, (_, bar) => {
    const x = bar * BAR_WIDTH + BAR_WIDTH / 2;
    return Array.from({ length: BARS_HEIGHT - 1 }, (__, y) => at(x, y)).filter((colour) => colour !== 0).length;
  });
}

describe('the picture in a mail', () => {
  it('is a PNG by the standard', () => {
    const parts = chunks(barsPng([1, 2, 3]));
    expect(parts.map(({ type }) => type)).toEqual(['IHDR', 'PLTE', 'IDAT', 'IEND']);
    for (const { type, data, crc: written } of parts) expect(written).toBe(crc(Buffer.concat([Buffer.from(type, 'latin1'), data])));
    const [head] = parts as [Chunk];
    expect([head.data.readUInt32BE(0), head.data.readUInt32BE(4), [...head.data.subarray(8)]]).toEqual([
      3 * BAR_WIDTH,
      BARS_HEIGHT,
      [8, 3, 0, 0, 0],
    ]);
  });

  it('shows each value as high as it is, the highest as high as the picture, and nothing as nothing', () => {
    const heights = barHeights(barsPng([0, 1, 50, 100]), 4);
    const most = heights[3] as number;
    expect(most).toBeGreaterThan(BARS_HEIGHT - 10);
    expect([heights[0], heights[2]]).toEqual([0, Math.round(most / 2)]);
    expect(heights[1]).toBe(2);
    expect(barHeights(barsPng([0, 0]), 2)).toEqual([0, 0]);
  });

  it('stands in the mail by its name, with what it shows in words, whatever the words hold', () => {
    const message: Message = { subject: 's', lines: ['x'], link: 'http://127.0.0.1/' };
    const html = htmlOf(message, { cid: 'abc@plant', width: 10, height: 20, words: '"><script>' });
    expect(html).toContain('<img src="cid:abc@plant" width="10" height="20" alt="&quot;&gt;&lt;script&gt;">');
    expect(htmlOf(message)).not.toContain('<img');
  });
});
