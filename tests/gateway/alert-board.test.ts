/** The board of open alerts while it starts: what is told meanwhile is newer than what it reads. */
import { expect, test } from 'vitest';
import { AlertBoard } from '../../gateway/alert-board.ts';
import type { Alert } from '../../src/contract.ts';
import { exampleAlert, T0 } from './wire-examples.ts';

const clock = { now: () => T0, steadyMs: () => 0, speed: 1 };
const one = exampleAlert({ id: 'a', state: 'open', headline: 'before', acknowledgedBy: 'C. Dahl', acknowledgedAt: T0 });

async function started(told: readonly Alert[]): Promise<AlertBoard> {
  const board: AlertBoard = new AlertBoard({
    store: { mutes: () => Promise.resolve([]), alerts: () => Promise.resolve((board.note(told), [one])) },
    clock,
  });
  await board.start();
  return board;
}

test('an alert that closes meanwhile is not open', async () => {
  const board = await started([{ ...one, state: 'closed', closedAt: T0 }]);
  expect(board.news(null)).toMatchObject({ open: 0 });
});

test('an alert that changes meanwhile is as it was told, in the hands that the store knows', async () => {
  const board = await started([{ ...one, headline: 'after', acknowledgedBy: null, acknowledgedAt: null }]);
  expect(board.news(null).changed).toMatchObject([{ headline: 'after', acknowledgedBy: 'C. Dahl' }]);
});
