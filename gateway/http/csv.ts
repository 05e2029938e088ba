/**
 * Tables as CSV in the manner of RFC 4180: CRLF, quotes doubled, a header line with units. Times are ISO 8601 UTC, numbers use a point.
 * Text that a spreadsheet would run as a formula (ASVS 5.0 V1.2.10: = + - @ tab NUL, and CR LF) gets a leading quote mark; numbers do not,
 * so a negative number stays a number.
 */
export type Cell = string | number | boolean | null;
export type Column<Row> = { readonly head: string; readonly cell: (row: Row) => Cell };

const FORMULA = /^[=+\-@\t\0\r\n]/;
const NEEDS_QUOTES = /[",\r\n\0]/;

export function csv<Row>(columns: readonly Column<Row>[], rows: readonly Row[]): string {
  return csvHead(columns) + csvLines(columns, rows);
}

export const csvHead = <Row>(columns: readonly Column<Row>[]): string => `${columns.map((column) => csvCell(column.head)).join(',')}\r\n`;

export function csvLines<Row>(columns: readonly Column<Row>[], rows: readonly Row[]): string {
  return rows.map((row) => `${columns.map((column) => csvCell(column.cell(row))).join(',')}\r\n`).join('');
}

export function csvCell(cell: Cell): string {
  if (cell === null) return '';
  if (typeof cell === 'number') return Number.isFinite(cell) ? String(cell) : '';
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
  const text = FORMULA.test(cell) ? `'${cell}` : cell;
  return NEEDS_QUOTES.test(text) || text !== text.trim() ? `"${text.replaceAll('"', '""')}"` : text;
}

export const utc = (at: number | null): string => (at === null ? '' : new Date(at).toISOString());
/**
 * Digits, one rule for all tables. Instants and lengths are counted in whole milliseconds: seconds have three places; hours have six, because
 * readers add them up and hold them against the window. Shares have six for the same reason.
 */
export const seconds = (ms: number | null): number | null => (ms === null ? null : Math.round(ms) / 1000);
export const hours = (ms: number | null): number | null => (ms === null ? null : Math.round(ms / 3.6) / 1_000_000);
export const ratio = (value: number | null): number | null => (value === null ? null : Math.round(value * 1e6) / 1e6);

const significant = (value: number | null, digits: number): number | null =>
  value === null || !Number.isFinite(value) ? null : Number(value.toPrecision(digits));
/** What a gauge or a meter measured, or is made of such: four figures, where gauges of the trade are good for a part in two hundred. */
export const measured = (value: number | null): number | null => significant(value, 4);
/** A mean of few events, a rate, an equivalent: three figures, which its bounds do not bear out either. */
export const estimated = (value: number | null): number | null => significant(value, 3);
/** Values from which a reader computes again (a trace, the points of a chart): as many figures as a controller's 32-bit number holds. */
export const asRead = (value: number | null): number | null => significant(value, 7);
