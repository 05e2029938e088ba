import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { asRead, csv, csvCell, estimated, hours, measured, ratio, seconds, type Cell } from '../../../gateway/http/csv.ts';
import { HOSTILE_TEXTS } from '../hostile-texts.ts';

/** RFC 4180 section 2, read strictly: CRLF ends a record, quotes are doubled. */
function readCsv(text: string): string[][] {
  const records: string[][] = [[]];
  const field = /(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r\n|$)/gy;
  for (;;) {
    const at = field.lastIndex;
    const match = field.exec(text);
    if (match === null) throw new Error(`not RFC 4180 at ${at}: ${JSON.stringify(text.slice(at, at + 20))}`);
    records.at(-1)?.push(match[1] === undefined ? (match[2] ?? '') : match[1].replaceAll('""', '"'));
    if (match[3] === ',') continue;
    if (field.lastIndex >= text.length) return records;
    records.push([]);
  }
}

const table = (cells: readonly Cell[]): string => csv([{ head: 'x', cell: (row: Cell) => row }], cells);

describe('csv', () => {
  it('is RFC 4180: what goes in comes out, guard marks aside', () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(fc.oneof(fc.string({ unit: 'binary' }), fc.constantFrom(...HOSTILE_TEXTS)), { minLength: 2, maxLength: 2 })),
        (rows) => {
          const columns = [0, 1].map((n) => ({ head: `c${n}`, cell: (row: string[]) => row[n] as string }));
          const [head, ...read] = readCsv(csv(columns, rows));
          expect(head).toEqual(['c0', 'c1']);
          expect(read.map((row) => row.map((cell) => (/^'[=+\-@\t\0\r\n]/.test(cell) ? cell.slice(1) : cell)))).toEqual(
            rows.map((row) => row.map((cell) => (/^'[=+\-@\t\0\r\n]/.test(cell) ? cell.slice(1) : cell))),
          );
        },
      ),
      { seed: 48, numRuns: 500 },
    );
  });

  // ASVS 5.0 V1.2.10: = + - @ tab NUL
  it.each(HOSTILE_TEXTS.map((text) => [text]))('no spreadsheet takes %j for a formula', (text) => {
    const [, row] = readCsv(table([text]));
    expect(row?.[0] ?? '').not.toMatch(/^[=+\-@\t\0\r\n]/);
  });

  it('numbers stay numbers, also negative ones', () => {
    expect(table([-1.5, 0, 1e21])).toBe('x\r\n-1.5\r\n0\r\n1e+21\r\n');
  });

  it('a number has no more digits than it is worth, and enough where readers compute again', () => {
    expect([seconds(154_800.0000001), hours(3_600_001), ratio(1 / 3)]).toEqual([154.8, 1, 0.333333]);
    expect([measured(0.196101736), measured(9343.000000000007), measured(123_456)]).toEqual([0.1961, 9343, 123_500]);
    expect([estimated(56.200293), estimated(0.041666), asRead(26.66447368421)]).toEqual([56.2, 0.0417, 26.66447]);
    expect([measured(null), estimated(null), asRead(NaN), measured(-0.000123456)]).toEqual([null, null, null, -0.0001235]);
  });

  it('what is missing is empty, not zero', () => {
    expect([csvCell(null), csvCell(NaN), csvCell(Infinity)]).toEqual(['', '', '']);
  });
});
