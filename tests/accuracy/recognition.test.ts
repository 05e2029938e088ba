// A working day's heart of the simulated hall, power dip included; the long story with its table: node tests/accuracy/recognition.ts
import { beforeAll, expect, test } from 'vitest';
import { measure, shareWithin } from './recognition.ts';
import type { Measured } from './recognition.ts';

let measured: Measured;
beforeAll(() => {
  measured = measure({ seed: 3, from: Date.UTC(2026, 9, 6, 8), days: 0.25 });
}, 120_000);

test.each(['byTag', 'bySignals'] as const)('every run is found and none invented (%s)', (way) => {
  const { runsTrue, found, missed, invented } = measured[way];
  expect(runsTrue).toBeGreaterThan(40);
  expect({ found, missed, invented }).toEqual({ found: runsTrue, missed: [], invented: [] });
});

test.each(['byTag', 'bySignals'] as const)('every phase boundary is told within 2 s (%s)', (way) => {
  expect([...measured[way].errors.values()].flat().length).toBeGreaterThan(250);
  expect(measured[way].unmatched).toEqual([]);
  expect(shareWithin(measured[way], 2_000)).toBe(1);
});

test.each(['byTag', 'bySignals'] as const)('outcomes, alarms and whose time it is agree with what happened (%s)', (way) => {
  const { outcomeWrong, alarms, stateMs } = measured[way];
  expect(outcomeWrong).toEqual([]);
  expect(alarms).toMatchObject({ matched: alarms.real, invented: 0 });
  expect(stateMs.agreed / (stateMs.agreed + stateMs.differed)).toBeGreaterThan(0.99);
});
