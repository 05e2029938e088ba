import { expect, test } from 'vitest';
import { thin } from '../../dashboard/trace-thin.ts';

const every = (count: number, value: (i: number) => number | null): { at: number; value: number | null }[] =>
  Array.from({ length: count }, (_, i) => ({ at: i * 250, value: value(i) }));

test('the least and the largest of a long line, its ends and its gaps all remain', () => {
  const samples = every(7200, (i) => (i === 3000 ? null : i === 4001 ? 999 : i === 5002 ? -999 : Math.sin(i / 50)));
  const drawn = thin(samples);
  const values = drawn.map((s) => s.value);
  expect(values).toContain(999);
  expect(values).toContain(-999);
  expect(values.filter((v) => v === null)).toHaveLength(1);
  expect([drawn[0]!.at, drawn.at(-1)!.at]).toEqual([0, 7199 * 250]);
  expect(drawn.length).toBeLessThan(800);
});

test('a value that does not change keeps only where it began and where it ended', () => {
  const drawn = thin(every(7200, (i) => (i < 3600 ? 5 : 7)));
  expect(drawn.map((s) => s.value)).toEqual([5, 5, 7, 7]);
  expect(thin(every(100, () => null)).map((s) => s.value)).toEqual([null, null]);
});

test('older points stay where they are when the line grows', () => {
  const samples = every(4000, (i) => Math.sin(i / 7));
  const [shorter, longer] = [thin(samples.slice(0, 3900)), thin(samples)];
  const settled = shorter.filter((s) => s.at < 900_000);
  expect(longer.filter((s) => s.at < 900_000)).toEqual(settled);
});

test('nothing gives nothing', () => {
  expect(thin([])).toEqual([]);
});
