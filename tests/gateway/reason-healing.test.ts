/**
 * Incremental equals from scratch: whatever order facts, words and withdrawals are committed in, a window read through the books is the window
 * that all facts together give, had they been known at first.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Books } from '../../gateway/books.ts';
import type { Plant } from '../../gateway/plant.ts';
import { ReasonBook } from '../../gateway/reason-book.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { ChamberState } from '../../src/chamber-state.ts';
import { TOLD_STATES } from '../../src/equipment.ts';
import type { ChamberEvent } from '../../src/event.ts';
import { fleetFacts, type ChamberFacts } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';

const HOUR = 3_600_000;
const START = Date.UTC(2026, 9, 1);
const LENGTH = 40 * 24 * HOUR;
const NOW = START + LENGTH;
const CHAMBER = 'PC-01';

/** Few, so that the same state often comes back after a hole. */
const STATES = ['standby', 'unscheduled-downtime', 'unobserved'] as const;
const moment = fc.integer({ min: 0, max: LENGTH / HOUR }).map((hours) => START + hours * HOUR);
const fact = fc.record({ at: moment, state: fc.constantFrom(...STATES) });
const word = fc.record({
  at: moment,
  enteredAt: moment,
  hours: fc.option(fc.integer({ min: 1, max: 200 })),
  state: fc.constantFrom(...TOLD_STATES),
});
const step = fc.oneof(
  { weight: 5, arbitrary: fact.map((draft) => ({ kind: 'state' as const, ...draft })) },
  { weight: 3, arbitrary: word.map((draft) => ({ kind: 'word' as const, ...draft })) },
  { weight: 1, arbitrary: fc.nat().map((nth) => ({ kind: 'back' as const, nth })) },
);

type Step = typeof step extends fc.Arbitrary<infer T> ? T : never;

function eventOf(draft: Step, n: number, entries: string[]): ChamberEvent | null {
  const base = { chamber: CHAMBER };
  if (draft.kind === 'state')
    return { ...base, kind: 'equipment-state', at: draft.at, state: draft.state, reason: `${n}`, source: 'signal', run: null };
  if (draft.kind === 'back') {
    const entry = entries[draft.nth % Math.max(1, entries.length)];
    return entry === undefined ? null : { ...base, kind: 'reason-withdrawn', at: NOW, entry, by: 'B' };
  }
  const { enteredAt, hours, state } = draft;
  const at = Math.min(draft.at, enteredAt);
  entries.push(`e${n}`);
  const told = { entry: `e${n}`, state, reason: 'x', note: '', by: 'A', downtime: null, workedOn: [] };
  return { ...base, ...told, kind: 'reason', at, to: hours === null ? null : at + hours * HOUR, enteredAt };
}

describe('reasons and healing', () => {
  it('a window of any facts and words in any order is the window of all of them together', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(step, { minLength: 3, maxLength: 25 }),
        moment,
        fc.integer({ min: 1, max: 200 }),
        async (steps, from, hours) => {
          const store = memoryStore();
          const clock = { now: () => NOW, steadyMs: () => 0, speed: 1 };
          const book = new ReasonBook({ store, onFatal: (error) => expect.unreachable(String(error)) });
          await book.start();
          const state = () => ({ now: NOW, alarms: {}, presence: { word: 'heard', silent: false } }) as unknown as ChamberState;
          const plant = { chamber: () => ({ rules: { bridgeMs: 0 } }) } as unknown as Plant;
          const books = new Books({ store, clock, plant, reasons: book, state });
          const window = { from, to: Math.min(NOW, from + hours * HOUR) };
          const entries: string[] = [];
          for (const [n, draft] of steps.entries()) {
            const event = eventOf(draft, n, entries);
            if (event === null) continue;
            book.note(await store.append({ events: [event], snapshots: new Map() }));
            // Asked in between, so that what is kept at hand is old when the next fact comes.
            await books.facts(window, [CHAMBER]);
          }
          const [read] = await books.facts(window, [CHAMBER]);
          const all = await store.events({});
          const [whole] = fleetFacts({ chambers: [CHAMBER], events: all, heardUntil: { [CHAMBER]: NOW } });
          expect(stateIntervals(read as ChamberFacts, window, [])).toEqual(stateIntervals(whole as ChamberFacts, window, []));
        },
      ),
      { seed: 20261125, numRuns: 300 },
    );
  });
});
