import { describe, expect, test } from 'vitest';
import type { RunEnded } from '../../src/event.ts';
import { type Cycle, cyclesOf, throughputs } from '../../src/throughput.ts';
import { MIN, run, stretches } from './stretches.ts';

const WEEK = 7 * 86_400_000;
const PHASES: RunEnded['phases'] = (
  [
    ['pump-down', 1, 3],
    ['gas-stabilisation', 3, 4],
    ['plasma', 4, 24],
    ['purge', 24, 25],
    ['vent-delay', 25, 26],
    ['vent', 26, 28],
  ] as const
).map(([phase, from, to]) => ({ phase, step: null, from: from * MIN, to: to * MIN, source: 'signal' as const }));
const RUN = run(28 * MIN, { startedAt: MIN, doorClosedAt: 0, phases: PHASES });
const cycle = (minutes: number, after: Parameters<typeof stretches>[0]): Cycle =>
  cyclesOf([{ run: RUN, cycleMs: minutes * MIN, waitMs: null }], stretches(after, 28 * MIN), 'recipe not known')[0] as Cycle;
const partsOf = (one: Cycle, windowMs = WEEK) =>
  Object.fromEntries((throughputs([one], windowMs)[0]?.parts ?? []).map(({ part, ms }) => [part, ms / MIN]));
const WAIT = (minutes: number) => [minutes, 'standby', 'waiting for unload'] as const;
const HANDLING = (minutes: number) => [minutes, 'productive', 'load or unload'] as const;
const IDLE = (minutes: number) => [minutes, 'standby', 'idle'] as const;

describe('throughput', () => {
  test('[TP1] a cycle is taken apart without a rest: the run by its phases, the time after it by what went on', () => {
    const one = cycle(60, [
      WAIT(5),
      HANDLING(4),
      IDLE(10),
      [3, 'unscheduled-downtime', 'tripped'],
      HANDLING(10),
      [5, 'productive', 'run', { run: 'next' }],
    ]);
    expect(partsOf(one)).toEqual({
      'pump-down': 2,
      'gas-stabilisation': 1,
      plasma: 20,
      purge: 1,
      vent: 3,
      'wait-unload': 5,
      unload: 4,
      idle: 10,
      down: 3,
      load: 10,
      other: 1,
    });
    expect(one.parts.reduce((sum, ms) => sum + ms, 0)).toBe(60 * MIN);
  });

  test('[TP1] handling up to the closed door without idling is unloading and loading in one', () => {
    expect(partsOf(cycle(40, [WAIT(2), HANDLING(10)]))).toMatchObject({ 'unload-and-load': 10, 'wait-unload': 2 });
    expect(partsOf(cycle(50, [HANDLING(4), IDLE(18)]))).toMatchObject({ unload: 4, idle: 18 });
  });

  test('[TP2] the limiting part has the most hours; the limit the kind of parts with the most', () => {
    const [whole] = throughputs([cycle(70, [WAIT(12), HANDLING(4), IDLE(15), HANDLING(11)])], WEEK);
    expect([whole?.limiting, whole?.limitedBy]).toEqual(['plasma', 'people']);
    expect(throughputs([], WEEK)).toEqual([]);
  });

  test('[TP3] 100 cycles of 40 min, a minute of venting saved in each: 100 min at 39 min a load are 2.564 loads (own numbers)', () => {
    const cycles = Array.from({ length: 100 }, () => cycle(40, [WAIT(2), HANDLING(10)]));
    const vent = throughputs(cycles, WEEK)[0]?.parts.find(({ part }) => part === 'vent');
    expect(vent?.minuteLoadsPerWeek).toBeCloseTo(100 / 39, 12);
    expect(vent?.minuteLoadsPerWeekBusy).toBeCloseTo(100 / 39, 12);
    expect(throughputs(cycles, WEEK / 7)[0]?.parts.find(({ part }) => part === 'vent')?.minuteLoadsPerWeek).toBeCloseTo(700 / 39, 12);
  });

  test('[TP3] a part shorter than a minute saves only itself, and where the chamber idled no demand was seen', () => {
    const cycles = [cycle(40, [WAIT(0.5), HANDLING(11.5)]), cycle(60, [WAIT(5), HANDLING(4), IDLE(20), HANDLING(3)])];
    const [whole] = throughputs(cycles, WEEK);
    const wait = whole?.parts.find(({ part }) => part === 'wait-unload');
    // Without idling the cycles take 40 and 40 min; 0.5 and 1 min are saved.
    expect(wait?.minuteLoadsPerWeek).toBeCloseTo(1.5 / ((80 - 1.5) / 2), 12);
    expect(wait?.minuteLoadsPerWeekBusy).toBeCloseTo(0.5 / ((80 - 1.5) / 2), 12);
    expect([whole?.cycles, whole?.busyCycles]).toEqual([2, 1]);
  });

  test('[TP3] a minute less of idling leaves what a cycle takes without idling as it is (own numbers)', () => {
    const [whole] = throughputs([cycle(60, [HANDLING(7), IDLE(20), HANDLING(5)])], WEEK);
    expect(whole?.parts.find(({ part }) => part === 'idle')?.minuteLoadsPerWeek).toBeCloseTo(1 / 40, 12);
  });

  test('[TP2] each recipe stands for itself, most cycles first', () => {
    const other = { ...cycle(40, [HANDLING(12)]), recipe: 'ACT-AR-07' };
    const lines = throughputs([other, cycle(40, [HANDLING(12)]), other], WEEK);
    expect(lines.map(({ recipe, cycles }) => [recipe, cycles])).toEqual([
      [null, 3],
      ['ACT-AR-07', 2],
      ['DSM-PI-25', 1],
    ]);
  });
});
