/** What the blocks of a sheet share: the head with its rule, lists that say how much they left out, and the inks of small print. */
import type { StateTimes } from '../../src/numbers.ts';
import { observedMs } from '../../src/utilization.ts';
import { INK } from './ink.ts';
import type { Painter, Type } from './painter.ts';
import { sharedRows, type Want } from './rows.ts';

export const ROW = 11;
export const SIZE = 8;
export const SMALL = 7.2;
export const HEAD_HEIGHT = 14;
const BLOCK_GAP = 9;

export type Stretch = { readonly x: number; readonly y: number; readonly width: number };

/** A block's name, and beside it what its numbers are; the rule under it is the strongest line of the sheet. */
export function blockHead(painter: Painter, { x, y, width }: Stretch, title: string, note = ''): number {
  const type = { size: 9.2, weight: 700, tag: 'H2' } as const;
  const taken = painter.width(title, type);
  painter.line(title, { x, y: y + 8.5, width }, type);
  if (note !== '') painter.line(note, { x: x + taken + 6, y: y + 8.5, width: width - taken - 6 }, { size: SMALL, ink: INK.soft });
  painter.rule(x, y + 11.8, width, { ink: INK.ink, weight: 1.1 });
  return HEAD_HEIGHT;
}

/** One soft line, such as what a list left out. */
export function note(painter: Painter, { x, y, width }: Stretch, text: string): number {
  painter.line(text, { x, y: y + 8, width }, { size: SMALL, ink: INK.soft });
  return ROW;
}

/** As many whole sentences as fit so many lines: half a piece of advice is none. The first stands whatever its length. */
export function wholeSentences(painter: Painter, text: string, { width, lines }: { width: number; lines: number }, type: Type): string {
  const sentences = text.split(/(?<=\.) +(?=\p{Lu})/u);
  while (sentences.length > 1 && painter.wrap(sentences.join(' '), width, type).length > lines) sentences.pop();
  return sentences.join(' ');
}

/** What nobody watched is never called absent. */
export const noneOf = (time: StateTimes, words: string): string => (observedMs(time) === 0 ? 'Nothing was observed.' : words);

export type Block = Want & {
  /** Paints itself with so many rows and returns the height it took. */
  readonly paint: (at: Stretch, rows: number) => number;
};

/** Blocks one under the other; lists are shortened so that all fit. */
export function column(painter: Painter, at: Stretch & { readonly height: number }, blocks: readonly Block[]): void {
  const height = at.height - BLOCK_GAP * (blocks.length - 1);
  const rows = sharedRows(height, blocks);
  let y = at.y;
  blocks.forEach((block, i) => {
    painter.part('Sect', () => {
      y += block.paint({ x: at.x, y, width: at.width }, rows[i] ?? 0) + BLOCK_GAP;
    });
  });
  const over = y - BLOCK_GAP - (at.y + at.height);
  if (over > 0.5) painter.overflow(`a column is ${Math.round(over)} pt too long`);
}
