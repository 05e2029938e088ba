/** The plant's past in batches: in order, bounded, silent where a link was away. */
import { beforeAll, expect, test } from 'vitest';
import { writeHistory, type HistoryCount } from '../../../gateway/simulator/history.ts';
import { createPlant } from '../../../gateway/simulator/plant.ts';
import { type Batch, type BatchValue, eachInBatch } from '../../../src/batch.ts';
import { HOUR, MONDAY } from './plant-story.ts';

type Value = { readonly name: string; readonly at: number; readonly value: BatchValue };
const TO = MONDAY + 72 * HOUR;
const batches: Batch[] = [];
const values: Value[] = [];
let count: HistoryCount;
const plant = createPlant({ seed: 5, from: MONDAY });

beforeAll(async () => {
  count = await writeHistory({ plant, to: TO, give: (batch) => void batches.push(batch) });
  for (const batch of batches) eachInBatch(batch, (name, at, value) => values.push({ name, at, value }));
});

test('every value is handed over once, at most 50 000 in a batch, in order of time', () => {
  expect(values.length).toBe(count.values);
  expect(batches.every((batch) => batch.name.length > 0 && batch.name.length <= 50_000)).toBe(true);
  expect(values.every(({ at }, i) => i === 0 || at >= values[i - 1]!.at)).toBe(true);
  expect(values[values.length - 1]!.at).toBeLessThanOrEqual(TO);
  expect(plant.now).toBe(TO);
});

test('names are the node texts of the site file', () => {
  const names = new Set(values.map(({ name }) => name));
  expect(names).toContain('nsu=urn:quellmoor:hall-3;s=PC-01/Chamber/Pressure');
  expect(names).toContain('nsu=urn:quellmoor:hall-3;s=PC-11#RF_FAULT');
  expect(names).toContain('link:cedar-12');
});

test('three days of twelve chambers need fewer than 400 000 values', () => expect(values.length).toBeLessThan(400_000));

test('while a link is away nothing of its server is told, and with its return all present values are', () => {
  const link = values.filter(({ name }) => name === 'link:cedar-12');
  const down = link.find(({ value }) => value === false)!;
  const up = link.find(({ value, at }) => value === true && at > down.at)!;
  const own = values.filter(({ name }) => name.includes('=PC-12'));
  expect(own.filter(({ at }) => at > down.at && at < up.at)).toEqual([]);
  const again = new Set(own.filter(({ at }) => at === up.at).map(({ name }) => name));
  const { tags, conditions } = plant.chambers[11]!;
  expect(again.size).toBe(tags.length + conditions.length);
});

test('a past told in two parts does not call a link alive that is away between them', async () => {
  const away = createPlant({ seed: 1, from: MONDAY });
  const second: Value[] = [];
  await writeHistory({ plant: away, to: MONDAY + HOUR, give: () => undefined });
  away.inject({ fault: 'link-drop', chamber: 'PC-01', size: null, durationMs: HOUR });
  await writeHistory({ plant: away, to: MONDAY + 1.5 * HOUR, give: () => undefined });
  const give = (batch: Batch): void => eachInBatch(batch, (name, at, value) => void second.push({ name, at, value }));
  await writeHistory({ plant: away, to: MONDAY + 3 * HOUR, give });
  expect(second.filter(({ name }) => name === 'link:amber').map(({ value }) => value)).toEqual([false, true]);
  const own = second.filter(({ name }) => name.includes('=PC-01'));
  expect(own[0]!.at).toBe(second.find(({ name, value }) => name === 'link:amber' && value === true)!.at);
  expect(new Set(own.map(({ name }) => name)).size).toBe(away.chambers[0]!.tags.length);
});

test('a plant asked for nothing gives nothing', async () => {
  const idle = createPlant({ seed: 1, from: MONDAY });
  const given: Batch[] = [];
  const none = await writeHistory({ plant: idle, to: MONDAY, give: (batch) => void given.push(batch) });
  expect([none.values, given.length, idle.now]).toEqual([0, 0, MONDAY]);
});

test('it waits for the taker and stops when told', async () => {
  const stop = new AbortController();
  const stopped = createPlant({ seed: 1, from: MONDAY });
  let [inside, most] = [0, 0];
  const none = await writeHistory({
    plant: stopped,
    to: TO,
    most: 1000,
    stop: stop.signal,
    give: async () => {
      most = Math.max(most, ++inside);
      await new Promise((resolve) => setImmediate(resolve));
      inside--;
      stop.abort();
    },
  });
  expect(most).toBe(1);
  expect(none.batches).toBe(1);
  expect(stopped.now).toBeLessThan(TO);
});
