import { expect, test } from 'vitest';
import { Latest } from '../../gateway/latest.ts';
import type { Reading } from '../../src/reading.ts';
import { reading } from '../src/story.ts';

const NOON = Date.UTC(2026, 10, 25, 12);
const pressure = (value: number, at: number, receivedAt = at): Reading => reading('chamber.pressure', value, at, { receivedAt });

function watching() {
  const time = { now: NOON };
  const latest = new Latest({ now: () => time.now, speed: 1 });
  return { time, latest, shown: () => latest.of('PC-01').get('chamber.pressure')?.value };
}

test('what a server kept does not come in place of a newer value', () => {
  const { time, latest, shown } = watching();
  latest.take([pressure(2, NOON)]);
  time.now += 5_000;
  latest.take([pressure(1, NOON - 60_000)]);
  expect(shown()).toBe(2);
});

test("after the machine's clock is set back, values go on", () => {
  const { time, latest, shown } = watching();
  latest.take([pressure(2, NOON)]);
  time.now -= 3_600_000;
  latest.take([pressure(3, time.now)]);
  expect(shown()).toBe(3);
  time.now += 1_000;
  latest.take([pressure(4, time.now), pressure(1, time.now - 60_000)]);
  expect(shown()).toBe(4);
});

test('a device whose clock runs ahead is no clock set back', () => {
  const { latest, shown } = watching();
  latest.take([pressure(2, NOON + 30_000, NOON), pressure(1, NOON + 20_000, NOON)]);
  expect(shown()).toBe(2);
});
