/** Published examples: RFC 8785 section 3.2.2 to 3.2.4 and appendix B (from memory; the numbers follow from ECMAScript's own rule). */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { canonical } from '../../src/canonical.ts';

test('[JC1] [JC2] the sample object of RFC 8785 section 3.2.3 gives the text printed there', () => {
  const sample = {
    numbers: [Number('333333333.33333329'), 1e30, 4.5, 2e-3, 0.000000000000000000000000001],
    string: '\u20ac$\u000f\u000aA\'\u0042\u0022\u005c\\"/',
    literals: [null, true, false],
  };
  const text =
    '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}';
  expect(canonical(sample)).toBe(text);
});

test('[JC1] names are in order of their UTF-16 code units, as in the sorting example of RFC 8785 section 3.2.3', () => {
  const sample = { '\u20ac': 'Euro Sign', '\r': 'Carriage Return', '\ufb33': 'Hebrew Letter Dalet With Dagesh', '1': 'One' };
  const names = Object.values(JSON.parse(canonical({ ...sample, '\ud83d\ude00': 'Emoji', '\u0080': 'Control', ö: 'Latin' })) as object);
  expect(names).toEqual(
    ['One', 'Carriage Return', 'Control', 'Latin', 'Euro Sign', 'Emoji', 'Hebrew Letter Dalet With Dagesh'].sort(byOrder),
  );
  expect(canonical({ '\ufb33': 1, '\ud83d\ude00': 2 })).toBe('{"\ud83d\ude00":2,"\ufb33":1}');
});
/** JSON.parse puts the whole-number name first in any case; the rest stands as written. */
const byOrder = (): number => 0;

test.each([
  [0, '0'],
  [-0, '0'],
  [5e-324, '5e-324'],
  [1.7976931348623157e308, '1.7976931348623157e+308'],
  [9007199254740992, '9007199254740992'],
  [Number('295147905179352830000'), '295147905179352830000'],
  [1e21, '1e+21'],
  [9.999999999999997e22, '9.999999999999997e+22'],
  [1e-6, '0.000001'],
  [333333333.33333325, '333333333.33333325'],
  [Number('1424953923781206.2'), '1424953923781206.2'],
])('[JC2] the number %d of RFC 8785 appendix B is written %s', (number, text) => {
  expect(canonical(number)).toBe(text);
});

test('[JC3] what JSON cannot say is refused, and an absent member is absent', () => {
  for (const value of [Number.NaN, Infinity, '\ud83d', { a: [undefined] }, { a: () => 1 }, { '\udc00': 1 }, 1n])
    expect(() => canonical(value)).toThrow('no canonical text');
  expect(canonical({ b: undefined, a: 1 })).toBe('{"a":1}');
});

test('[JC1] a value read back from any JSON text of it has the same canonical text', () => {
  fc.assert(
    fc.property(fc.jsonValue({ maxDepth: 4 }), (value) => {
      const shuffled = JSON.parse(JSON.stringify(reversed(value))) as unknown;
      expect(canonical(shuffled)).toBe(canonical(JSON.parse(JSON.stringify(value))));
      expect(JSON.parse(canonical(value))).toEqual(JSON.parse(JSON.stringify(value)));
    }),
    { seed: 8785, numRuns: 300 },
  );
});

function reversed(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(reversed);
  if (typeof value !== 'object' || value === null) return value;
  const turned: Record<string, unknown> = Object.create(null) as Record<string, unknown>;
  for (const [name, one] of Object.entries(value).reverse()) turned[name] = reversed(one);
  return turned;
}
