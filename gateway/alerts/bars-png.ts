/**
 * Bars as a PNG (RFC 2083 / ISO 15948), because mail readers show no SVG. Four colours, no text: what it shows stands beside it in words.
 */
import { crc32, deflateSync } from 'node:zlib';

const SIGNATURE = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
/** Paper, bars, the last bar, base line. */
const PALETTE = Buffer.from([0xff, 0xff, 0xff, 0x6f, 0x7d, 0x8c, 0xb3, 0x2d, 0x1e, 0x30, 0x38, 0x42]);
const [PAPER, BAR, LAST, LINE] = [0, 1, 2, 3] as const;

export const BAR_WIDTH = 36;
export const BARS_HEIGHT = 96;
const GAP = 4;
const HEAD = 4;

/** One bar per value, the highest as high as the picture; a value above nothing is seen as a bar at least. */
export function barsPng(values: readonly number[]): Buffer {
  const width = Math.max(1, values.length) * BAR_WIDTH;
  const most = Math.max(1, ...values);
  const heights = values.map((value) => (value <= 0 ? 0 : Math.max(2, Math.round((value / most) * (BARS_HEIGHT - HEAD - 1)))));
  const rows = Array.from({ length: BARS_HEIGHT }, (_, y) => rowOf(heights, { y, width }));
  return Buffer.concat([
    SIGNATURE,
    chunk('IHDR', header(width, BARS_HEIGHT)),
    chunk('PLTE', PALETTE),
    chunk('IDAT', deflateSync(Buffer.concat(rows))),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

/** Each row begins with its filter: none. */
function rowOf(heights: readonly number[], { y, width }: { readonly y: number; readonly width: number }): Buffer {
  const row = Buffer.alloc(width + 1, PAPER);
  row[0] = 0;
  const fromGround = BARS_HEIGHT - 1 - y;
  if (fromGround === 0) return row.fill(LINE, 1);
  heights.forEach((height, i) => {
    if (fromGround > height) return;
    row.fill(i === heights.length - 1 ? LAST : BAR, 1 + i * BAR_WIDTH + GAP / 2, 1 + (i + 1) * BAR_WIDTH - GAP / 2);
  });
  return row;
}

/** Eight bits per pixel, indexed colour. */
function header(width: number, height: number): Buffer {
  const data = Buffer.alloc(13);
  data.writeUInt32BE(width, 0);
  data.writeUInt32BE(height, 4);
  data.set([8, 3, 0, 0, 0], 8);
  return data;
}

function chunk(type: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const whole = Buffer.alloc(body.length + 8);
  whole.writeUInt32BE(data.length, 0);
  body.copy(whole, 4);
  whole.writeUInt32BE(crc32(body), body.length + 4);
  return whole;
}
