import { describe, expect, test } from 'vitest';
import type { StoredEvent } from '../../src/event.ts';
import { type ChamberFacts, firstAt, fleetFacts, within } from '../../src/facts.ts';
import { CHAMBERS, random, randomHistory } from './random-history.ts';
import { alarmExample } from './examples.ts';

const at = (...times: number[]): { at: number }[] => times.map((time) => ({ at: time }));

describe('facts', () => {
  test('[FA1] whatever the order events arrive in, the facts are the same', () => {
    const events = randomHistory({ from: 0, to: 5 * 86_400_000, seed: 5 });
    const chance = random(2);
    const mixed = events
      .map((event) => ({ event, key: chance() }))
      .sort((a, b) => a.key - b.key)
      .map(({ event }) => event);
    const input = { chambers: CHAMBERS, heardUntil: {} };
    expect(fleetFacts({ ...input, events: mixed })).toEqual(fleetFacts({ ...input, events }));
    expect(fleetFacts({ ...input, opening: mixed.slice(0, 900), events: mixed.slice(500) })).toEqual(fleetFacts({ ...input, events }));
  });

  test('[FA1] every chamber asked for has facts, in the order asked, and a chamber without any was never heard', () => {
    const facts = fleetFacts({ chambers: ['b', 'a'], events: [], heardUntil: { a: 7 } });
    expect(facts.map(({ chamber, states, heardUntil }) => [chamber, states, heardUntil])).toEqual([
      ['b', [], -Infinity],
      ['a', [], 7],
    ]);
  });

  test('[FA1] alarm facts are found by code and by whether they count, in the same order', () => {
    const alarm = (seq: number, code: string, part: object = {}): StoredEvent => ({
      ...alarmExample({ chamber: 'a', at: 100 - seq, code, ...part }),
      seq,
    });
    const [facts] = fleetFacts({
      chambers: ['a'],
      events: [alarm(1, 'X'), alarm(2, 'Y', { notice: true }), alarm(3, 'X', { change: 'cleared' })],
      heardUntil: {},
    }) as [ChamberFacts];
    expect([...facts.alarmsByCode].map(([code, list]) => [code, list.map(({ seq }) => seq)])).toEqual([
      ['X', [3, 1]],
      ['Y', [2]],
    ]);
    expect(facts.activations.map(({ seq }) => seq)).toEqual([1]);
  });

  test('the first fact at or after a moment is found among many at the same moment, before all and after all', () => {
    const facts = at(1, 3, 3, 3, 7);
    expect([0, 1, 2, 3, 4, 7, 8].map((time) => firstAt(facts, time))).toEqual([0, 0, 1, 1, 4, 4, 5]);
    expect(within(facts, 3, 7)).toEqual(at(3, 3, 3));
    expect(within([], 3, 7)).toEqual([]);
  });
});
