/**
 * How many columns and rows the wall gets: places follow the floor when its own grid reads well, otherwise the same order is refolded.
 * The answer depends only on the chambers and the window, never on states, so that no tile ever jumps.
 */
type Floor = { readonly column: number; readonly row: number };
export type Box = { readonly width: number; readonly height: number };
export type Grid = { readonly columns: number; readonly rows: number; readonly places: readonly Floor[] };

/** The largest lettering a tile of this box can carry; the tiles' style takes the same two shares. */
export const LETTER_SHARE = { ofWidth: 0.136, ofHeight: 0.2 };

export const letterSize = (tile: Box): number => Math.min(tile.width * LETTER_SHARE.ofWidth, tile.height * LETTER_SHARE.ofHeight);

/** Places are 1-based and in the order of `floors`. The floor's own grid is kept while it costs less than a fifth of the lettering. */
export function wallGrid(floors: readonly Floor[], box: Box): Grid {
  const refolded = bestFold(floors, box);
  const own = floorGrid(floors);
  if (!own) return refolded;
  return letters(own, box) >= 0.8 * letters(refolded, box) ? own : refolded;
}

const letters = (grid: { columns: number; rows: number }, box: Box): number =>
  letterSize({ width: box.width / grid.columns, height: box.height / grid.rows });

/** Null when two chambers claim one place. */
function floorGrid(floors: readonly Floor[]): Grid | null {
  if (floors.length === 0 || new Set(floors.map((f) => `${f.column}/${f.row}`)).size !== floors.length) return null;
  const left = Math.min(...floors.map((f) => f.column));
  const top = Math.min(...floors.map((f) => f.row));
  const places = floors.map((f) => ({ column: f.column - left + 1, row: f.row - top + 1 }));
  return { columns: Math.max(...places.map((p) => p.column)), rows: Math.max(...places.map((p) => p.row)), places };
}

function bestFold(floors: readonly Floor[], box: Box): Grid {
  const n = Math.max(1, floors.length);
  let columns = 1;
  for (let c = 2; c <= n; c++) if (foldLetters(n, c, box) > foldLetters(n, columns, box) + 0.01) columns = c;
  const order = floors.map((_, i) => i).sort((a, b) => byFloor(floors[a] as Floor, floors[b] as Floor) || a - b);
  const places: Floor[] = [];
  order.forEach((index, i) => (places[index] = { column: (i % columns) + 1, row: Math.floor(i / columns) + 1 }));
  return { columns, rows: Math.ceil(n / columns), places };
}

const foldLetters = (n: number, columns: number, box: Box): number => letters({ columns, rows: Math.ceil(n / columns) }, box);
const byFloor = (a: Floor, b: Floor): number => a.row - b.row || a.column - b.column;
