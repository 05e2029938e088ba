import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { batchBuilder } from '../../../src/batch.ts';
import { historyFeed } from '../../../gateway/simulator/history-feed.ts';
import type { TruthLine } from '../../../gateway/simulator/plant-port.ts';
import { processImage } from '../../../gateway/simulator/process-image.ts';
import { savedPlant, savePlant } from '../../../gateway/simulator/snapshot-file.ts';
import { TruthFile } from '../../../gateway/simulator/truth-file.ts';
import { fakeChamber, PRESSURE } from './fake-plant.ts';

let folder: string;
beforeEach(async () => (folder = await mkdtemp(join(tmpdir(), 'memory-'))));
afterEach(() => rm(folder, { recursive: true }));

const CHAMBERS = [fakeChamber('PC-01', 'amber'), fakeChamber('PC-11', 'cedar-11', [{ name: 'CHILLER_FAULT', message: 'm', severity: 1 }])];

test('the process image keeps the last of everything; a controller that restarts is away until it is told to be up', () => {
  const image = processImage(CHAMBERS);
  expect([image.valueOf(1, PRESSURE), image.conditionOf(1, 0), image.linkOf('amber')]).toEqual([null, null, 'up']);
  image.tag(1, PRESSURE, 1, 1000, 900);
  image.tag(1, PRESSURE, 93.5, 2000, 1900);
  image.condition(1, 0, true, 2000, 1900);
  image.link('amber', 'restart', 2000);
  expect(image.valueOf(1, PRESSURE)).toEqual({ value: 93.5, at: 2000, sourceAt: 1900 });
  expect(image.conditionOf(1, 0)).toEqual({ active: true, at: 2000, sourceAt: 1900 });
  expect([image.linkOf('amber'), image.clockOffsetMs(1), image.clockOffsetMs(0)]).toEqual(['drop', -100, 0]);
});

test('a snapshot comes back as it was, none is none, and a foreign or broken one is refused with its cure', async () => {
  const file = join(folder, 'plant.json');
  const memory = { seed: 7, chambers: 12, plant: { now: 5 } };
  expect(await savedPlant(file, memory)).toBeNull();
  await savePlant(file, memory);
  expect(await savedPlant(file, { seed: 7, chambers: 12 })).toMatchObject(memory);
  await expect(savedPlant(file, { seed: 8, chambers: 12 })).rejects.toThrow(
    'belongs to --seed 7 --chambers 12: start with these, or delete it',
  );
  await writeFile(file, '{"format":1,');
  await expect(savedPlant(file, memory)).rejects.toThrow('cannot be read: delete it to begin a new story');
});

test('truth is appended in order and nothing is lost when a write fails', async () => {
  const line = (from: number): TruthLine => ({ kind: 'alarm', chamber: 'PC-01', code: 'RF_FAULT', from, to: null });
  const nowhere = new TruthFile(join(folder, 'not', 'there.jsonl'), () => {});
  nowhere.write(line(1));
  await expect(nowhere.flush()).rejects.toThrow('ENOENT');
  await (await import('node:fs/promises')).mkdir(join(folder, 'not'));
  nowhere.write(line(2));
  await nowhere.stop();
  const text = await readFile(join(folder, 'not', 'there.jsonl'), 'utf8');
  expect(
    text
      .trim()
      .split('\n')
      .map((one) => (JSON.parse(one) as { from: number }).from),
  ).toEqual([1, 2]);
});

test('history waits while three batches are unanswered', async () => {
  const sent: unknown[] = [];
  let answer: (message: unknown) => void = () => {};
  const feed = historyFeed({ isHeard: true, send: (message) => sent.push(message), onMessage: (each) => (answer = each) });
  const given: number[] = [];
  const giving = (async () => {
    for (let i = 0; i < 5; i++) {
      const batch = batchBuilder();
      batch.add('PC-01/Chamber/Pressure', i, i);
      await feed.give(batch.take());
      given.push(i);
    }
    feed.end(99);
  })();
  await new Promise((resolve) => setImmediate(resolve));
  expect(sent.length).toBe(3);
  for (let i = 0; i < 5; i++) {
    answer({ type: 'more' });
    await new Promise((resolve) => setImmediate(resolve));
  }
  await giving;
  expect(given).toEqual([0, 1, 2, 3, 4]);
  expect(sent.at(-1)).toEqual({ type: 'history-end', at: 99 });
});
