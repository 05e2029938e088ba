import { describe, expect, test } from 'vitest';
import { Intake } from '../../gateway/intake.ts';
import type { Reading } from '../../src/reading.ts';
import type { Signal } from '../../src/signal.ts';

const reading = (at: number, signal: Signal): Reading => ({
  chamber: 'PC-01',
  signal,
  value: 1,
  quality: 'good',
  at,
  timeOrigin: 'source',
  receivedAt: at,
});
const facts = (n: number, from = 0): Reading[] => Array.from({ length: n }, (_, i) => reading(from + i, 'chamber.pressure'));

describe('the intake queue', () => {
  test('hands over everything in order of arrival and is empty again', () => {
    const intake = new Intake(10);
    intake.add(facts(3));
    expect(intake.take().map((r) => r.at)).toEqual([0, 1, 2]);
    expect(intake.take()).toEqual([]);
  });

  test('when crowded it first drops and counts what only a live page shows', () => {
    const intake = new Intake(3);
    intake.add([...facts(3), reading(3, 'rf.matchC1'), reading(4, 'chamber.doorClosed')]);
    expect(intake.take().map((r) => r.signal)).toEqual(['chamber.pressure', 'chamber.pressure', 'chamber.pressure', 'chamber.doorClosed']);
    expect(intake.counters).toEqual({ droppedLive: 1, droppedFacts: 0 });
  });

  test('when full it tells the lost stretch as a hole at its first moment', () => {
    const intake = new Intake(2);
    intake.add(facts(7));
    const taken = intake.take();
    expect(taken).toHaveLength(5);
    expect(taken.at(-1)).toMatchObject({ chamber: 'PC-01', signal: 'link.alive', value: false, at: 4 });
    expect(intake.counters).toEqual({ droppedLive: 0, droppedFacts: 3 });
    expect(intake.take()).toEqual([]);
  });
});
