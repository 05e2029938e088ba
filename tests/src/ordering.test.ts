import fc from 'fast-check';
import { expect, test } from 'vitest';
import { admit, initialOrdering, WINDOW_MS } from '../../src/ordering.ts';
import type { Ordering } from '../../src/ordering.ts';
import type { Reading } from '../../src/reading.ts';
import { rulesBySignals as rules } from '../scenarios/scenario-rules.ts';
import { observeAll, reading, readingsOfStory, runWith } from './story.ts';

const water = (at: number, receivedAt = at): Reading => reading('utility.waterFlow', at, at, { receivedAt });
const ats = (readings: readonly Reading[]): readonly number[] => readings.map(({ at }) => at);

function pass(arrivals: readonly Reading[], sizes: readonly number[] = [1]): { ready: readonly Reading[]; buffer: Ordering } {
  let buffer = initialOrdering;
  const ready: Reading[] = [];
  for (let i = 0, turn = 0; i < arrivals.length; turn++) {
    const size = sizes[turn % sizes.length] as number;
    const step = admit(buffer, arrivals.slice(i, i + size), 0);
    ({ buffer } = step);
    ready.push(...step.ready);
    i += size;
  }
  const last = admit(buffer, [], Number.MAX_SAFE_INTEGER);
  return { ready: [...ready, ...last.ready], buffer: last.buffer };
}

test('[OR1] what is older than the newest by the window leaves in order of time; time alone lets go too', () => {
  const first = admit(initialOrdering, [water(10_300), water(10_000)], 10_300);
  expect(first.ready).toEqual([]);
  const second = admit(first.buffer, [water(11_600)], 11_600);
  expect(ats(second.ready)).toEqual([10_000]);
  expect(ats(admit(second.buffer, [], 11_600 + WINDOW_MS).ready)).toEqual([10_300, 11_600]);
});

/** Any arrival order in which nothing comes later than the window allows. */
const shuffled = (readings: readonly Reading[]): fc.Arbitrary<readonly Reading[]> =>
  fc.array(fc.integer({ min: 0, max: WINDOW_MS - 1 }), { minLength: readings.length, maxLength: readings.length }).map((delays) =>
    readings
      .map((each, i) => ({ each, seen: each.at + (delays[i] as number) }))
      .sort((a, b) => a.seen - b.seen)
      .map(({ each }) => each),
  );

test('[OR2] any arrival order within the window gives the same readings and so the same events', () => {
  const story = readingsOfStory(runWith('beat 0:00..9:30')).filter(({ at }) => at <= Date.parse('2026-11-25T06:09:30Z'));
  const straight = pass(story).ready;
  const events = observeAll(rules, straight).events;
  expect(events.length).toBeGreaterThan(8);
  fc.assert(
    fc.property(shuffled(story), fc.array(fc.integer({ min: 1, max: 40 }), { minLength: 1, maxLength: 5 }), (arrivals, sizes) => {
      const { ready, buffer } = pass(arrivals, sizes);
      expect(buffer.late).toBe(0);
      expect(ready).toEqual(straight);
    }),
    { seed: 41, numRuns: 30 },
  );
  expect(
    observeAll(rules, pass([...story].reverse().sort((a, b) => Math.floor(a.at / 1000) - Math.floor(b.at / 1000))).ready).events,
  ).toEqual(events);
});

test('[OR3] the same reading twice is handed on once', () => {
  const { ready, buffer } = pass([water(1_000), water(1_000), water(2_000), water(9_000), water(2_000), water(9_000)]);
  expect(ats(ready)).toEqual([1_000, 2_000, 9_000]);
  expect(buffer.duplicates).toBe(3);
  expect(buffer.late).toBe(0);
  const power = (value: number): Reading => reading('rf.forward', value, 1_000);
  expect(pass([power(3600), power(0), power(0), water(9_000)]).ready.map(({ value }) => value)).toEqual([3600, 0, 9_000]);
  expect(pass([power(3600), water(9_000), power(0)]).ready.map(({ value }) => value)).toEqual([3600, 0, 9_000]);
});

test('[OR4] too late is counted, and handed on only if newer than the last of its signal, else left out', () => {
  const door = reading('chamber.doorClosed', true, 3_000);
  const { ready, buffer } = pass([water(2_000), water(9_000), door, water(1_000)]);
  expect(ready.map(({ signal, at }) => `${signal} ${at}`)).toEqual([
    'utility.waterFlow 2000',
    'chamber.doorClosed 3000',
    'utility.waterFlow 9000',
  ]);
  expect([buffer.late, buffer.leftOut]).toEqual([2, 1]);
});
