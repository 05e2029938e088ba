import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { joinTraces, packTrace, unpackTrace } from '../../gateway/store/trace-pack.ts';

const column = fc
  .record({ signal: fc.string({ minLength: 1, maxLength: 20 }), gaps: fc.array(fc.nat(100_000), { maxLength: 50 }) })
  .chain(({ signal, gaps }) =>
    fc.array(fc.oneof(fc.float(), fc.maxSafeInteger()), { minLength: gaps.length, maxLength: gaps.length }).map((value) => {
      let at = 1_700_000_000_000;
      return { signal, at: gaps.map((gap) => (at += gap)), value };
    }),
  );

describe('packed traces', () => {
  test('come back as they went in, gaps and large counters included', () => {
    fc.assert(
      fc.property(fc.array(column, { maxLength: 5 }), (columns) => {
        const back = unpackTrace(1_700_000_000_000, packTrace(1_700_000_000_000, columns));
        expect(back.map((c) => [c.signal, c.at])).toEqual(columns.map((c) => [c.signal, c.at]));
        const wrong = back.flatMap((c, i) => c.value.filter((v, j) => !closeToSevenDigits(v, columns[i]?.value[j] as number)));
        expect(wrong).toEqual([]);
      }),
      { seed: 20261125, numRuns: 200 },
    );
  });

  test('keep seven digits of a measured value and every digit of an hour meter', () => {
    const packed = packTrace(0, [
      { signal: 'chamber.pressure', at: [0, 1000], value: [33.330_612_5, Number.NaN] },
      { signal: 'meter.pumpHours', at: [0], value: [65_536_441] },
    ]);
    const [pressure, meter] = unpackTrace(0, packed);
    expect(Math.abs((pressure?.value[0] as number) / 33.330_612_5 - 1)).toBeLessThan(1e-7);
    expect(pressure?.value[1]).toBeNaN();
    expect(meter?.value).toEqual([65_536_441]);
  });

  test('give only the signals asked for', () => {
    const packed = packTrace(
      0,
      ['a', 'b'].map((signal) => ({ signal, at: [1], value: [2] })),
    );
    expect(unpackTrace(0, packed, new Set(['b'])).map((c) => c.signal)).toEqual(['b']);
  });

  test('cut or foreign bytes are refused, never half read', () => {
    const packed = packTrace(0, [{ signal: 'a', at: [1, 2], value: [3, 4] }]);
    for (let length = 0; length < packed.length; length += 1) {
      expect(() => unpackTrace(0, packed.subarray(0, length))).toThrow(expect.objectContaining({ code: 'unreadable' }));
    }
    expect(() => unpackTrace(0, readFileSync('package.json'))).toThrow('GFT1');
  });

  test('join in order of time, the later written sample standing', () => {
    const joined = joinTraces([[{ signal: 'a', at: [10, 20], value: [1, 2] }], [{ signal: 'a', at: [5, 20], value: [0, 9] }]]);
    expect(joined).toEqual([{ signal: 'a', at: [5, 10, 20], value: [0, 1, 9] }]);
  });
});

const closeToSevenDigits = (seen: number, wanted: number): boolean =>
  Object.is(seen, wanted) || Math.abs(seen - wanted) <= Math.abs(wanted) * 6e-8 + 1e-45;
