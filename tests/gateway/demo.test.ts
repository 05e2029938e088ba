import { describe, expect, test } from 'vitest';
import { acceleratedClock } from '../../gateway/clock.ts';
import { epochOf } from '../../gateway/demo.ts';

const HOUR = 3_600_000;
const NOW = Date.UTC(2026, 10, 25, 10);
/** What the clock made from that epoch reads at `NOW`; it reads Date.now(), so its own formula is used. */
const plantTime = (epoch: number, speed: number): number => Math.round(epoch + (NOW - epoch) * speed);

describe("the demo's plant time", () => {
  test('equals real time on a first start, at any speed', () => {
    expect(epochOf(1, NOW, 0)).toBe(NOW);
    expect(Math.abs(plantTime(epochOf(60, NOW, 0), 60) - NOW)).toBeLessThanOrEqual(60);
  });

  test('goes on from where a faster plant stood, never back', () => {
    const last = NOW + 9 * HOUR;
    const at = plantTime(epochOf(60, NOW, last), 60);
    expect(at).toBeGreaterThan(last);
    expect(at).toBeLessThan(last + 2000);
  });

  test('catches up with real time after a long stop', () => {
    expect(Math.abs(plantTime(epochOf(30, NOW, NOW - 100 * HOUR), 30) - NOW)).toBeLessThanOrEqual(30);
  });

  test('cannot run at speed 1 in a folder whose plant is ahead, and says so', () => {
    expect(() => epochOf(1, NOW, NOW + 9 * HOUR)).toThrow(
      'The plant of this data folder ran faster before and is 9.0 h ahead. Choose --speed above 1, or another folder with --data.',
    );
  });

  test('is the same formula as the clock uses', () => {
    const epoch = Date.now() - 1000;
    const read = acceleratedClock(epoch, 60).now();
    expect(read).toBeGreaterThanOrEqual(epoch + 60_000);
    expect(read).toBeLessThan(epoch + 60_000 + 60 * 500);
  });
});
