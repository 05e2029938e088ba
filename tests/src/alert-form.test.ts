import { expect, test } from 'vitest';
import { ended, lengthWords, listWords, momentWords, newAlert } from '../../src/alert-form.ts';
import { alert as alertShape } from '../../src/contract.ts';
import { at, HOUR, MIN } from './watch-fixture.ts';

const made = newAlert({ kind: 'down', subject: 'PC-01', at: at(0), severity: 'medium', headline: 'h', rule: 'r', chamber: 'PC-01' });

test('[AF1] an alert is named by kind, subject and the moment its rule was met; nobody has touched it', () => {
  expect(made.id).toBe('down/PC-01/2026-11-25T12:00:00.000Z');
  expect(alertShape.parse(made)).toEqual(made);
  expect(made).toMatchObject({ state: 'open', acknowledgedBy: null, takenBy: null, partOf: null, alarms: null, facts: [], together: [] });
});

test('[AF2] it ends once, never before its begin', () => {
  const over = ended(made, at(5), { headline: 'over' });
  expect(over).toMatchObject({ state: 'closed', closedAt: at(5), updatedAt: at(5), headline: 'over' });
  expect(ended(over, at(9))).toBe(over);
  expect(ended(made, at(-5)).closedAt).toBe(at(0));
});

test('lengths, moments and lists are short', () => {
  expect([45_000, 35 * MIN, 130 * MIN, 25 * HOUR + 5 * MIN].map(lengthWords)).toEqual(['45 s', '35 min', '2 h 10 min', '25 h']);
  expect(momentWords(at(2), 'Europe/Berlin')).toBe('25 Nov 13:02');
  expect(listWords(['a', 'b', 'c', 'd', 'e', 'f'])).toBe('a, b, c, d and 2 more');
});
