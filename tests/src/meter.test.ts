// The rule for clearable meters is trade practice, from memory; no standard. Numbers by hand.
import { describe, expect, test } from 'vitest';
import { CYCLE_METER, HOUR_METER, meterGain } from '../../src/meter.ts';

const HOUR = 3_600_000;
/** Hours told at hours. */
const hours = (...steps: readonly (readonly [atH: number, valueH: number])[]) =>
  steps.map(([atH, valueH]) => ({ at: atH * HOUR, value: valueH * 3600 }));
const gainH = (found: { gained: number }): number => found.gained / 3600;

describe('a clearable hour meter', () => {
  test('[ME1] gains what it rose, up to the time gone by', () => {
    const found = meterGain(hours([0, 18_204.6], [10, 18_212.1], [20, 18_222.1]), HOUR_METER);
    expect(gainH(found)).toBeCloseTo(17.5, 9);
    expect(found).toMatchObject({ isWhole: true, events: [] });
  });

  test('[ME2] cleared: it gained its new value, and the reset is told', () => {
    const found = meterGain(hours([0, 18_204.6], [10, 4], [20, 14]), HOUR_METER);
    expect(gainH(found)).toBeCloseTo(14, 9);
    expect(found.isWhole).toBe(true);
    expect(found.events).toMatchObject([{ kind: 'reset', at: 10 * HOUR, from: 18_204.6 * 3600, to: 4 * 3600 }]);
  });

  test('[ME2] put back to an old value from a backup: what it gained is not known, and what follows counts again', () => {
    const found = meterGain(hours([0, 18_204.6], [10, 17_000], [20, 17_008]), HOUR_METER);
    expect(gainH(found)).toBeCloseTo(8, 9);
    expect(found).toMatchObject({ isWhole: false, events: [{ kind: 'reset' }] });
  });

  test.each([1, 0.1])('[ME3] 32767 ticks of %d h turn into -32768 and it goes on counting', (tick) => {
    const found = meterGain(hours([0, 32_760 * tick], [20, 32_767 * tick], [21, -32_768 * tick], [31, -32_760 * tick]), HOUR_METER);
    expect(gainH(found)).toBeCloseTo(16 * tick, 9);
    expect(found).toMatchObject({ isWhole: true, events: [{ kind: 'wrapped' }] });
  });

  test('[ME4] a leap of 500 h in 10 h was set: nothing is counted for it, and it is told', () => {
    const found = meterGain(hours([0, 100], [10, 600], [20, 610]), HOUR_METER);
    expect(gainH(found)).toBeCloseTo(10, 9);
    expect(found).toMatchObject({ isWhole: false, events: [{ kind: 'set', at: 10 * HOUR }] });
  });

  test('[ME1] [ME4] cycles: one in an hour is gained, a thousand in an hour were set', () => {
    const at = (h: number, value: number) => ({ at: h * HOUR, value });
    expect(meterGain([at(0, 5), at(1, 6)], CYCLE_METER)).toEqual({ gained: 1, isWhole: true, events: [] });
    expect(meterGain([at(0, 5), at(1, 1005)], CYCLE_METER)).toMatchObject({ gained: 0, isWhole: false, events: [{ kind: 'set' }] });
    expect(meterGain([at(0, 32_767), at(1, -32_768)], CYCLE_METER)).toMatchObject({ gained: 1, events: [{ kind: 'wrapped' }] });
    expect(meterGain([], CYCLE_METER)).toEqual({ gained: 0, isWhole: true, events: [] });
  });
});
