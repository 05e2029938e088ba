/** A table on a sheet: soft heads, thin rules, numbers to the right. Rows are one line each; a cell may draw instead of saying. */
import { INK } from './ink.ts';
import type { Box, Painter, Type } from './painter.ts';

export type Column<Row> = {
  readonly head: string;
  /** Points, or a share of what the fixed columns leave when under 1.01. */
  readonly width: number;
  readonly align?: 'left' | 'right' | 'center';
  readonly text?: (row: Row) => string;
  readonly type?: Partial<Type> | ((row: Row) => Partial<Type>);
  readonly figure?: (box: Box, row: Row) => void;
};

export type Grid = {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly row: number;
  readonly size: number;
  /** Without a line of heads. */
  readonly bare?: boolean;
};

export const GAP = 5;
export const HEAD = 10;

/** Returns the height it took. */
export function table<Row>(painter: Painter, grid: Grid, columns: readonly Column<Row>[], rows: readonly Row[]): number {
  const places = placed(grid, columns);
  let y = grid.y;
  painter.part('Table', () => {
    if (grid.bare !== true) {
      painter.part('TR', () => heads(painter, { ...grid, y }, columns, places));
      y += HEAD;
    }
    for (const row of rows) {
      painter.part('TR', () => columns.forEach((column, i) => cell(painter, { ...grid, y, place: places[i] as Stretch }, column, row, i)));
      y += grid.row;
      painter.rule(grid.x, y, grid.width);
    }
  });
  return y - grid.y;
}

type Stretch = { readonly x: number; readonly width: number };

function placed<Row>(grid: Grid, columns: readonly Column<Row>[]): Stretch[] {
  const fixed = columns.reduce((sum, { width }) => sum + (width > 1.01 ? width : 0), 0);
  const free = grid.width - fixed - GAP * (columns.length - 1);
  const parts = columns.reduce((sum, { width }) => sum + (width > 1.01 ? 0 : width), 0);
  let x = grid.x;
  return columns.map(({ width }) => {
    const own = width > 1.01 ? width : (free * width) / parts;
    const place = { x, width: own };
    x += own + GAP;
    return place;
  });
}

function heads<Row>(painter: Painter, { y, size }: Grid, columns: readonly Column<Row>[], places: readonly Stretch[]): void {
  columns.forEach(({ head, align }, i) =>
    painter.line(
      head,
      { ...(places[i] as Stretch), y: y + 7 },
      { size: Math.min(7.2, size), ink: INK.soft, align: align ?? 'left', tag: 'TH' },
    ),
  );
}

type Cell = Grid & { readonly place: Stretch };

function cell<Row>(painter: Painter, { y, row, size, place }: Cell, column: Column<Row>, value: Row, index: number): void {
  const { text, type, figure, align } = column;
  if (figure) figure({ ...place, y: y + 1.6, height: row - 3.2 }, value);
  if (!text) return;
  const own = typeof type === 'function' ? type(value) : (type ?? {});
  const words = { size, align: align ?? ('left' as const), tag: index === 0 ? 'TH' : 'TD', whole: align === 'right', ...own };
  painter.line(text(value), { ...place, y: y + row / 2 + size * 0.34 }, words);
}
