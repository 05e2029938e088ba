/** Intervals of one chamber written as a list of minutes, for tests of what is made of them. */
import type { StateInterval } from '../../src/contract.ts';
import type { RunEnded } from '../../src/event.ts';

export const MIN = 60_000;

type Stretch = readonly [minutes: number, state: StateInterval['state'], reason: string, more?: Partial<StateInterval>];

/** One after another from `from` on. */
export function stretches(list: readonly Stretch[], from = 0): readonly StateInterval[] {
  let at = from;
  return list.map(([minutes, state, reason, more = {}]) => {
    const begin = at;
    at += minutes * MIN;
    const plain = { chamber: 'PC-01', source: 'signal', run: null, entry: null, downtime: null, observed: null } as const;
    return { ...plain, from: begin, to: at, state, reason, ...more };
  });
}

/** A told stretch over what was observed. */
export const told = (downtime: StateInterval['downtime'], observed: string): Partial<StateInterval> => ({
  source: 'person',
  entry: 'e1',
  downtime,
  observed: { state: 'unscheduled-downtime', reason: observed },
});

export const run = (at: number, change: Partial<RunEnded> = {}): RunEnded => ({
  kind: 'run-ended',
  chamber: 'PC-01',
  at,
  run: `PC-01/${at}`,
  startedAt: at - 30 * MIN,
  outcome: 'completed',
  recipe: 'DSM-PI-25',
  load: null,
  engineering: false,
  doorClosedAt: at - 31 * MIN,
  phases: [],
  observedMs: 30 * MIN,
  ...change,
});
