import fc from 'fast-check';
import { expect, test } from 'vitest';
import { initialChamber, observe } from '../../src/chamber.ts';
import type { ChamberState } from '../../src/chamber.ts';
import type { EventOf } from '../../src/event.ts';
import type { Reading } from '../../src/reading.ts';
import { rulesBySignals, rulesByTag } from '../scenarios/scenario-rules.ts';
import { observeAll, reading, readingsOfStory, runWith, taggedRun, told } from './story.ts';

const T = Date.parse('2026-11-25T06:00:00Z');

/** Whole runs with trouble, and pure noise: booleans, modes, phases and holes in any order. */
const STORIES = [
  runWith(),
  taggedRun(),
  runWith('silence 20:00..23:00'),
  taggedRun('silence 12:00..12:09', 'alarm.RF_FAULT false@0:00 true@20:00 false@31:00'),
  runWith('chamber.doorClosed true@0:00 false@1:00 true@6:00 false@10:00 true@10:04'),
].map(readingsOfStory);

const noise: fc.Arbitrary<readonly Reading[]> = fc
  .array(
    fc.record({
      gap: fc.oneof(
        { weight: 8, arbitrary: fc.integer({ min: 0, max: 9_000 }) },
        { weight: 1, arbitrary: fc.integer({ min: 10_000, max: 4_000_000 }) },
      ),
      word: fc.oneof(
        fc.tuple(
          fc.constantFrom(
            'chamber.doorClosed',
            'chamber.atmosphereSwitch',
            'pump.chamberValveOpen',
            'pump.running',
            'vent.valveOpen',
            'gas.1.valveOpen',
            'alarm.RF_FAULT',
            'alarm.NO_IGNITION',
            'alarm.OTHER',
            'link.alive',
          ),
          fc.boolean(),
        ),
        fc.tuple(fc.constantFrom('rf.forward', 'rf.forwardSetPoint'), fc.constantFrom(0, 2_000, 4_000)),
        fc.tuple(fc.constant('chamber.pressure'), fc.constantFrom(5, 30, 300, 101_325)),
        fc.tuple(fc.constantFrom('gas.1.flow', 'gas.2.flow', 'gas.3.flow'), fc.constantFrom(0, 1e-4, 5e-4)),
        fc.tuple(fc.constant('sequence.phaseCode'), fc.constantFrom(0, 5, 10, 20, 30, 40, 50, 60, 70, 75, 80, 90, 99)),
        fc.tuple(fc.constantFrom('recipe.step', 'recipe.stepCount', 'controller.heartbeat'), fc.integer({ min: 0, max: 3 })),
        fc.tuple(fc.constant('sequence.mode'), fc.constantFrom('auto', 'manual', 'maintenance')),
        fc.tuple(fc.constantFrom('load.id', 'recipe.name'), fc.constantFrom('A', 'B', 'LKT-05')),
      ),
    }),
    { minLength: 1, maxLength: 250 },
  )
  .map((items) => {
    let at = T;
    return [reading('link.alive', true, T), ...items.map(({ gap, word: [signal, value] }) => reading(signal, value, (at += gap)))];
  });

const anyStory = fc.oneof(fc.constantFrom(...STORIES), noise);
const rulesOf = fc.constantFrom(rulesBySignals, rulesByTag);

test('[CH1] a stored state continues exactly, wherever the stream is cut', () => {
  fc.assert(
    fc.property(anyStory, rulesOf, fc.double({ min: 0, max: 1, noNaN: true }), (story, rules, share) => {
      const cut = Math.floor(share * story.length);
      const whole = observeAll(rules, story);
      const first = observeAll(rules, story.slice(0, cut));
      const second = observeAll(rules, story.slice(cut), JSON.parse(JSON.stringify(first.state)) as ChamberState);
      expect(second.state).toEqual(whole.state);
      expect([...first.events, ...second.events]).toEqual(whole.events);
    }),
    { seed: 7, numRuns: 400 },
  );
});

test('[CH2] time does not run backwards, and boundaries follow one another', () => {
  fc.assert(
    fc.property(noise, rulesOf, (story, rules) => {
      const { state, events } = observeAll(rules, story);
      expect(state.now).toBeLessThanOrEqual(story.at(-1)!.at);
      for (const kind of ['phase', 'equipment-state'] as const) {
        const ats = events.filter((event) => event.kind === kind).map(({ at }) => at);
        expect(ats).toEqual(ats.toSorted((a, b) => a - b));
      }
    }),
    { seed: 8, numRuns: 600 },
  );
});

test('[CH2] what falls due by time is decided before the reading that brought the time', () => {
  const door = [
    reading('link.alive', true, T),
    reading('chamber.doorClosed', true, T),
    reading('utility.waterFlow', 1, T + 5_000),
    reading('chamber.doorClosed', false, T + 6_000),
  ];
  const late = observeAll(rulesBySignals, [
    ...door,
    reading('chamber.doorClosed', true, T + 14_000),
    reading('utility.waterFlow', 1, T + 20_000),
  ]);
  expect(late.events.flatMap((event) => (event.kind === 'phase' ? [`${event.phase} ${event.at - T}`] : []))).toEqual([
    'idle 0',
    'load 6000',
    'idle 14000',
  ]);
});

test('[CH3] every reading told twice changes nothing', () => {
  fc.assert(
    fc.property(anyStory, rulesOf, (story, rules) => {
      const once = observeAll(rules, story);
      const twice = observeAll(
        rules,
        story.flatMap((each) => [each, each]),
      );
      expect(twice.events).toEqual(once.events);
      expect(twice.state).toEqual(once.state);
    }),
    { seed: 9, numRuns: 400 },
  );
});

test('[CH4] a reading without meaning only moves time, and no event list is made for it', () => {
  const { state } = observeAll(
    rulesBySignals,
    STORIES[0]!.filter(({ at }) => at < T + 600_000),
  );
  const next = observe(rulesBySignals, state, reading('utility.waterFlow', 3, state.now + 500));
  expect(next.state).toEqual({ ...state, now: state.now + 500 });
  expect(next.events).toBe(observe(rulesBySignals, state, reading('rf.reflected', 3, state.now + 500)).events);
});

test('equipment states partition the observed time, and a run never holds more than its length', () => {
  fc.assert(
    fc.property(anyStory, rulesOf, (story, rules) => {
      const { events, state } = observeAll(rules, story);
      const said = events.filter((event): event is EventOf<'equipment-state'> => event.kind === 'equipment-state');
      const sum = said.reduce((total, { at }, i) => total + (said[i + 1]?.at ?? Math.max(state.now, at)) - at, 0);
      expect(sum).toBe(said.length === 0 ? 0 : Math.max(state.now, said.at(-1)!.at) - said[0]!.at);
      for (const run of events.filter((event) => event.kind === 'run-ended')) {
        expect(run.observedMs).toBeGreaterThanOrEqual(0);
        expect(run.observedMs).toBeLessThanOrEqual(run.at - run.startedAt);
        const length = run.phases.reduce((total, { from, to }) => total + to - from, 0);
        if (run.phases.length < 200) expect(length).toBe(run.at - run.startedAt);
      }
    }),
    { seed: 10, numRuns: 600 },
  );
});

test('a first state knows nothing and says nothing', () => {
  const state = initialChamber(rulesBySignals);
  expect(state.equipment.state).toBe('unobserved');
  expect(told('start 2026-11-25T06:00:00Z\nrf.reflected 3@0:00', 'phase')).toEqual([]);
});
