/** The story's own times: pump on from 0:00, RF from 8:46 to 30:46, watched to 40:00. */
import { expect, test } from 'vitest';
import { countsAt, NO_COUNTS } from '../../src/run-counts.ts';
import { runWith, stateAfter } from './story.ts';

const MINUTE = 60_000;
const counts = (...lines: readonly string[]) => {
  const state = stateAfter(runWith(...lines));
  return countsAt(state, state.now);
};

test('[CN1] pump time and RF time are from first seen to last seen', () => {
  const { pumpMs, rfMs } = counts();
  expect(rfMs).toBe(22 * MINUTE);
  expect(pumpMs).toBeGreaterThan(40 * MINUTE - 3_000);
  expect(pumpMs).toBeLessThanOrEqual(40 * MINUTE);
  expect(counts('pump.running true@0:00 false@36:00').pumpMs).toBeCloseTo(36 * MINUTE, -4);
});

test('[CN3] a run counts once when it ends, and a stored state goes on counting where it stopped', () => {
  expect(counts().runs).toBe(1);
  const state = stateAfter(runWith());
  const restored = JSON.parse(JSON.stringify(state)) as typeof state;
  expect(countsAt(restored, state.now)).toEqual(countsAt(state, state.now));
  expect(countsAt({ counts: NO_COUNTS }, 5)).toEqual({ pumpMs: 0, rfMs: 0, runs: 0, unobservedMs: 0 });
});

test('[CN2] unobserved time is counted as that alone', () => {
  const { pumpMs, rfMs, unobservedMs } = counts('beat 0:00..15:00 20:00..40:00', 'link.alive true@0:00 false@15:00 true@20:00');
  expect(unobservedMs).toBe(5 * MINUTE);
  expect(rfMs).toBe(17 * MINUTE);
  expect(pumpMs + unobservedMs).toBeGreaterThan(40 * MINUTE - 3_000);
  expect(pumpMs + unobservedMs).toBeLessThanOrEqual(40 * MINUTE);
});

test('[CN2] a hole short enough to be bridged counts as if it had not been', () => {
  const { rfMs, unobservedMs } = counts('link.alive true@0:00 false@15:00 true@15:08', 'beat 0:00..15:00 15:08..40:00');
  expect([rfMs, unobservedMs]).toEqual([22 * MINUTE, 0]);
});
