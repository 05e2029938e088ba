/** The plant as a program: the same story from the same seed, however it is asked. */
import { expect, test } from 'vitest';
import { createPlant, restorePlant } from '../../../gateway/simulator/plant.ts';
import { HOUR, MONDAY, story } from './plant-story.ts';

const START = MONDAY + 7 * HOUR;

test('the same seed tells the same story, another seed another', () => {
  const [a, b, c] = [1, 1, 2].map((seed) => {
    const lived = story({ seed, from: START });
    lived.plant.advance(START + 2 * HOUR, lived.sink);
    return lived;
  });
  expect(a!.told.length).toBeGreaterThan(10_000);
  expect(b!.told).toEqual(a!.told);
  expect(b!.truth).toEqual(a!.truth);
  expect(c!.told).not.toEqual(a!.told);
});

test.each(['live', 'history'] as const)('%s: advancing in odd pieces tells the same as advancing at once', (pace) => {
  const whole = story({ from: START, pace });
  whole.plant.advance(START + 2 * HOUR, whole.sink);
  const pieces = story({ from: START, pace });
  for (let at = START; at < START + 2 * HOUR; at += 7_777) pieces.plant.advance(at, pieces.sink);
  pieces.plant.advance(START + 2 * HOUR, pieces.sink);
  expect(pieces.told).toEqual(whole.told);
  expect(pieces.truth).toEqual(whole.truth);
});

test('a plant restored from a snapshot that went through JSON continues exactly', () => {
  const lived = story({ from: START });
  lived.plant.inject({ fault: 'leak', chamber: 'PC-05', size: 200, durationMs: HOUR });
  lived.plant.advance(START + HOUR, lived.sink);
  const snapshot = JSON.parse(JSON.stringify(lived.plant.snapshot())) as unknown;
  const [before, truthBefore] = [lived.told.length, lived.truth.length];
  lived.plant.advance(START + 3 * HOUR, lived.sink);
  const truth: unknown[] = [];
  const again = restorePlant(snapshot, (line) => truth.push(line));
  const told: unknown[] = [];
  again.advance(START + 3 * HOUR, {
    tag: (chamber, tag, value, at, sourceAt) => told.push({ path: again.chambers[chamber]!.tags[tag]!.path, value, at, sourceAt }),
    condition: (chamber, condition, active, at, sourceAt) => {
      const { id, conditions } = again.chambers[chamber]!;
      told.push({ path: `${id}#${conditions[condition]!.name}`, value: active, at, sourceAt });
    },
    link: (server, state, at) => told.push({ path: `link:${server}`, value: state, at, sourceAt: at }),
  });
  expect(told).toEqual(lived.told.slice(before));
  expect(truth).toEqual(lived.truth.slice(truthBefore));
});

test('an order for a chamber that is not there, or for none where one is needed, is refused', () => {
  const plant = createPlant({ seed: 1, from: START });
  expect(() => plant.inject({ fault: 'leak', chamber: 'PC-99', size: null, durationMs: null })).toThrow('no chamber PC-99');
  expect(() => plant.inject({ fault: 'leak', chamber: null, size: null, durationMs: null })).toThrow('name it');
});

test('a hall may have any number of chambers: one, or two hundred', () => {
  for (const chambers of [1, 200]) {
    const lived = story({ from: START, chambers }, () => false);
    lived.plant.advance(START + 120_000, lived.sink);
    expect(new Set(lived.plant.chambers.map(({ id }) => id)).size).toBe(chambers);
  }
});

test('a snapshot is a copy: what the plant does later does not change it', () => {
  const plant = createPlant({ seed: 1, from: START });
  const snapshot = plant.snapshot();
  const before = JSON.stringify(snapshot);
  plant.advance(START + HOUR, { tag: () => undefined, condition: () => undefined, link: () => undefined });
  expect(JSON.stringify(snapshot)).toBe(before);
});

test('changes are told in order of time, and every tag is told in the first second', () => {
  const lived = story({ from: START });
  lived.plant.advance(START + 1000, lived.sink);
  const paths = new Set(lived.told.map(({ path }) => path));
  for (const chamber of lived.plant.chambers) for (const tag of chamber.tags) expect(paths).toContain(tag.path);
  lived.plant.advance(START + HOUR, lived.sink);
  expect(lived.told.every(({ at }, i) => i === 0 || at >= lived.told[i - 1]!.at)).toBe(true);
});

test('live, every chamber counts its heartbeat once a second', () => {
  const lived = story({ from: START }, (path) => path.endsWith('Heartbeat'));
  lived.plant.advance(START + 60_000, lived.sink);
  const beats = lived.told.filter(({ path }) => path === 'PC-01/Controller/Heartbeat');
  expect(beats).toHaveLength(60);
  expect(new Set(beats.map(({ value }) => value)).size).toBe(60);
});

test("one controller's clock is 87 s slow, the others are right", () => {
  const lived = story({ from: START });
  lived.plant.advance(START + 10_000, lived.sink);
  const skews = new Map(lived.told.map(({ path, at, sourceAt }) => [path.slice(0, 5), sourceAt - at]));
  expect(skews.get('PC-11')).toBe(-87_000);
  expect([...skews].filter(([, skew]) => skew !== 0)).toHaveLength(1);
});
