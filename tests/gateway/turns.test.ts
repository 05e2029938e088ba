import { expect, test } from 'vitest';
import { turns } from '../../gateway/turns.ts';

test('deeds come one after another, and one that fails holds up nobody', async () => {
  const inTurn = turns();
  const told: string[] = [];
  const first = Promise.withResolvers<void>();
  const deeds = [
    inTurn(async () => (await first.promise, told.push('first'), 1)),
    inTurn(() => (told.push('second'), Promise.reject(new Error('no')))),
    inTurn(() => Promise.resolve(told.push('third'))),
  ];
  expect(told).toEqual([]);
  first.resolve();
  const settled = await Promise.allSettled(deeds);
  expect(settled.map(({ status }) => status)).toEqual(['fulfilled', 'rejected', 'fulfilled']);
  expect(told).toEqual(['first', 'second', 'third']);
});
