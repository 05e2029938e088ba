import { expect, test } from 'vitest';
import { InOrder } from '../../../gateway/opcua/in-order.ts';
import type { Numbered } from '../../../gateway/opcua/in-order.ts';

type Message = Numbered & { readonly name: string };
/** A negative number is a keep-alive. */
const message = (number: number): Message => ({
  sequenceNumber: Math.abs(number),
  notificationData: number > 0 ? [{}] : [],
  name: `${number}`,
});

/** Takes messages by number; the server still has `kept`. Tells what was delivered, 'lost' where something was. */
async function delivered(numbers: readonly number[], kept: readonly number[] = []): Promise<readonly string[]> {
  const told: string[] = [];
  const inOrder = new InOrder<Message>({
    again: async (number) => {
      if (!kept.includes(number)) throw new Error('BadMessageNotAvailable');
      return message(number);
    },
    deliver: ({ name }) => told.push(name),
    lost: () => told.push('lost'),
  });
  for (const number of numbers) inOrder.take(message(number));
  await new Promise((resolve) => setImmediate(resolve));
  return told;
}

// OPC 10000-4 5.14.1: sequence numbers start at 1, rise by one, and roll over from 4294967295 to 1; a keep-alive carries the next number.
test.each<[string, number[], number[], string]>([
  ['an unbroken row', [1, 2, 3, 4], [], '1 2 3 4'],
  ['keep-alives between messages', [1, -2, -2, 2, -3, 3], [], '1 -2 -2 2 -3 3'],
  ['a first message with any number', [17, 18], [], '17 18'],
  ['one message that the server has no more', [1, 2, 4, 5], [], '1 2 lost 4 5'],
  ['one message that the server still has', [1, 2, 4, 5], [3], '1 2 3 4 5'],
  ['a message announced by a keep-alive alone', [1, -3, 3], [2], '1 2 -3 3'],
  ['a message lost before a keep-alive', [1, -3, 3], [], '1 lost -3 3'],
  ['some of a row that the server still has', [1, 5, 6], [3, 4], '1 lost 3 4 5 6'],
  ['a hole in the middle of a row', [1, 5], [2, 4], '1 2 lost 4 5'],
  ['two holes', [1, 3, 5], [4], '1 lost 3 4 5'],
  ['new messages that overtook old ones sent again', [1, 4, 2, 3, 5], [], '1 2 3 4 5'],
  ['a message that comes again by both ways', [1, 3, 2, 4], [2], '1 2 3 4'],
  ['an old message sent again after a repair', [1, 2, 3, 2, 3, 4], [], '1 2 3 4'],
  ['the roll over', [4294967294, 4294967295, 1, 2], [], '4294967294 4294967295 1 2'],
  ['messages missing across the roll over', [4294967294, 2, 3], [4294967295, 1], '4294967294 4294967295 1 2 3'],
  ['messages lost across the roll over', [4294967294, 2, 3], [], '4294967294 lost 2 3'],
])('%s', async (_name, numbers, kept, expected) => expect((await delivered(numbers, kept)).join(' ')).toBe(expected));

test('what no server keeps is not asked for', async () => {
  const far = Array.from({ length: 200 }, (_, i) => i + 2);
  expect(await delivered([1, 202], far)).toEqual(['1', 'lost', '202']);
});

/** One whose questions are answered by hand. */
function byHand(): { inOrder: InOrder<Message>; told: string[]; answer: (number: number) => void } {
  const told: string[] = [];
  const asked = new Map<number, (message: Message) => void>();
  const inOrder = new InOrder<Message>({
    again: (number) => new Promise((resolve) => asked.set(number, resolve)),
    deliver: ({ name }) => told.push(name),
    lost: () => told.push('lost'),
  });
  return { inOrder, told, answer: (number) => asked.get(number)?.(message(number)) };
}

test('a new subscription numbers anew, and an answer to a question of the old one is not taken for its own', async () => {
  const { inOrder, told, answer } = byHand();
  for (const number of [40, 42]) inOrder.take(message(number));
  inOrder.restart();
  inOrder.take(message(1));
  answer(41);
  await Promise.resolve();
  inOrder.take(message(2));
  expect(told).toEqual(['40', '42', '1', '2']);
});

test('after the end nothing that waited is delivered', async () => {
  const { inOrder, told, answer } = byHand();
  for (const number of [1, 3]) inOrder.take(message(number));
  inOrder.end();
  answer(2);
  await new Promise((resolve) => setImmediate(resolve));
  expect(told).toEqual(['1']);
});

test('a server that never answers holds nothing up for long', async () => {
  const { promise, resolve } = Promise.withResolvers<void>();
  const told: string[] = [];
  const inOrder = new InOrder<Message>({
    again: () => new Promise(() => {}),
    deliver: ({ name }) => (told.push(name), name === '4' && resolve()),
    lost: () => told.push('lost'),
  });
  for (const number of [1, 3, 4]) inOrder.take(message(number));
  await promise;
  expect(told).toEqual(['1', 'lost', '3', '4']);
});
