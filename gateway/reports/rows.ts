/** How many rows each block of a column gets when not all fit: everyone its least, then one after the other what it wants. */
export type Want = { readonly fixed: number; readonly row: number; readonly least: number; readonly wanted: number };

export function sharedRows(height: number, wants: readonly Want[]): number[] {
  const rows = wants.map(({ least, wanted }) => Math.min(least, wanted));
  let left = height - wants.reduce((sum, { fixed, row }, i) => sum + fixed + row * (rows[i] ?? 0), 0);
  for (let given = true; given;) {
    given = false;
    wants.forEach(({ row, wanted }, i) => {
      if ((rows[i] ?? 0) >= wanted || row > left) return;
      rows[i] = (rows[i] ?? 0) + 1;
      left -= row;
      given = true;
    });
  }
  return rows;
}
