import { expect, it } from 'vitest';
import { problems } from '../../gateway/problems.ts';
import { exampleServer } from './wire-examples.ts';

const NONE = { droppedFacts: 0, droppedLive: 0 };
const ORDER = { leftOut: 0, duplicates: 5 };
const { counters } = exampleServer();
const busy = exampleServer({ counters: { ...counters, values: 100_000 } });

it('a gateway that lost nothing has no problem to tell', () => {
  expect(problems({ servers: [busy], intake: NONE, order: { leftOut: 100, duplicates: 0 } })).toEqual([]);
});

it('a link that is down is told with its sentence', () => {
  const down = exampleServer({ state: 'refused', message: 'No answer. Check the address.' });
  expect(problems({ servers: [busy, down], intake: NONE, order: ORDER })).toEqual(['amber: No answer. Check the address.']);
});

it.each([
  [
    'on the way',
    { servers: [{ ...busy, counters: { ...busy.counters, dropped: 7 } }, busy], intake: NONE, order: ORDER },
    /^7 .*did not take/,
  ],
  ['by a slow disk', { servers: [busy], intake: { droppedFacts: 7, droppedLive: 0 }, order: ORDER }, /^7 .*disk.*unobserved/],
  ['from the live pages', { servers: [busy], intake: { droppedFacts: 0, droppedLive: 7 }, order: ORDER }, /^7 .*live.*no number/],
  ['by coming too late', { servers: [busy], intake: NONE, order: { leftOut: 101, duplicates: 0 } }, /^101 of 100000 .*too late.*clocks/],
])('values lost %s are told, once, with how many', (_how, parts, words) => {
  const told = problems(parts);
  expect(told).toHaveLength(1);
  expect(told[0]).toMatch(words);
});

it('certificates that end soon are told in the list, ours, the servers and the users', () => {
  const DAY = 86_400_000;
  const ends = [
    { whose: 'server', validTo: 40 * DAY },
    { whose: 'user', validTo: 20 * DAY },
  ] as const;
  const line = exampleServer({ server: 'amber', certificates: [...ends] });
  const at = (now: number): string[] =>
    problems({ servers: [line], intake: NONE, order: { leftOut: 0, duplicates: 0 }, certificates: { ownValidTo: 45 * DAY, now } });
  expect(at(0)).toEqual([expect.stringMatching(/^The user certificate for amber expires in 20 days/)]);
  expect(at(41 * DAY).map((text) => text.split('. ')[0])).toEqual([
    'The certificate of this gateway expires in 4 days',
    'The certificate of amber has expired',
    'The user certificate for amber has expired',
  ]);
});
