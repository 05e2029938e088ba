import { expect, test } from 'vitest';
import { Sequence } from '../../../gateway/opcua/sequence.ts';

/** Numbers of messages; a negative one is a keep-alive. Returns those before which something is missing. */
function misses(numbers: readonly number[]): number[] {
  const sequence = new Sequence();
  return numbers.filter((number) => sequence.missesBefore(Math.abs(number), number > 0));
}

// OPC 10000-4 5.14.1: sequence numbers start at 1, rise by one, and roll over from 4294967295 to 1; a keep-alive carries the next number.
test.each<[string, number[], number[]]>([
  ['an unbroken row', [1, 2, 3, 4], []],
  ['keep-alives between messages', [1, -2, -2, 2, -3, 3], []],
  ['a first message with any number', [17, 18], []],
  ['one message missing', [1, 2, 4, 5], [4]],
  ['a message missing before a keep-alive', [1, -3, 3], [-3]],
  ['an old message sent again after a repair', [1, 2, 3, 2, 3, 4], []],
  ['the roll over', [4294967294, 4294967295, 1, 2], []],
  ['messages missing across the roll over', [4294967294, 2, 3], [2]],
])('%s', (_name, numbers, expected) => expect(misses(numbers)).toEqual(expected));

test('a new subscription numbers anew', () => {
  const sequence = new Sequence();
  sequence.missesBefore(40, true);
  sequence.restart();
  expect(sequence.missesBefore(1, true)).toBe(false);
  expect(sequence.missesBefore(3, true)).toBe(true);
});
