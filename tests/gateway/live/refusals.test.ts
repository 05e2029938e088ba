import { expect, it } from 'vitest';
import { Refusals } from '../../../gateway/live/refusals.ts';

it('the first refused socket is told at once, a thousand more within the minute in one line with their count', () => {
  let now = 1_000;
  const log: string[] = [];
  const refusals = new Refusals({ steadyMs: () => now, log: (line) => log.push(line) });
  refusals.add('not a page of this gateway');
  expect(log).toEqual(['A socket was refused: not a page of this gateway']);
  for (let i = 0; i < 999; i++) refusals.add('not a page of this gateway');
  refusals.add('too many pages are connected');
  now = 60_999;
  refusals.tell();
  expect(log.length).toBe(1);
  now = 61_000;
  refusals.tell();
  refusals.tell();
  expect(log.slice(1)).toEqual(['1000 sockets were refused within a minute, the last one: too many pages are connected']);
  now = 200_000;
  refusals.tell();
  expect(log.length).toBe(2);
});
