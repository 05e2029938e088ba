import { expect, test } from 'vitest';
import { letterSize, wallGrid } from '../../dashboard/wall-grid.ts';

const hall = (n: number, columns: number): { column: number; row: number }[] =>
  Array.from({ length: n }, (_, i) => ({ column: (i % columns) + 1, row: Math.floor(i / columns) + 1 }));
const landscape = { width: 1914, height: 976 };
const portrait = { width: 1080, height: 1740 };

test('chambers keep the floor’s own places on a landscape wall', () => {
  const grid = wallGrid(hall(12, 4), landscape);
  expect(grid).toMatchObject({ columns: 4, rows: 3 });
  expect(grid.places).toEqual(hall(12, 4));
});

test('a portrait wall refolds the same order when the floor’s grid would shrink the lettering by more than a fifth', () => {
  const grid = wallGrid(hall(40, 8), portrait);
  expect(grid.columns).toBeLessThan(8);
  const order = grid.places.map((p) => (p.row - 1) * grid.columns + p.column);
  expect(order).toEqual([...order].sort((a, b) => a - b));
});

test('a gap in the hall stays a gap on the wall', () => {
  const floors = hall(12, 4).filter((_, i) => i !== 5);
  const grid = wallGrid(floors, landscape);
  expect(grid.places).not.toContainEqual({ column: 2, row: 2 });
  expect(grid.rows).toBe(3);
});

test('two chambers that claim one place are both shown, each at a place of its own', () => {
  const grid = wallGrid(
    [
      { column: 1, row: 1 },
      { column: 1, row: 1 },
      { column: 2, row: 1 },
    ],
    landscape,
  );
  expect(new Set(grid.places.map((p) => `${p.column}/${p.row}`)).size).toBe(3);
});

test.each([1, 4, 5, 7, 12, 23, 24, 40])('%i chambers each get one place inside the grid, at any shape of window', (n) => {
  for (const box of [landscape, portrait, { width: 390, height: 700 }]) {
    const grid = wallGrid(hall(n, Math.ceil(Math.sqrt(n))), box);
    expect(new Set(grid.places.map((p) => `${p.column}/${p.row}`)).size).toBe(n);
    expect(Math.max(...grid.places.map((p) => p.column))).toBeLessThanOrEqual(grid.columns);
    expect(Math.max(...grid.places.map((p) => p.row))).toBeLessThanOrEqual(grid.rows);
  }
});

test('lettering doubles with the window', () => {
  expect(letterSize({ width: 800, height: 600 })).toBe(2 * letterSize({ width: 400, height: 300 }));
});
