import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Calendar, Span } from '../../src/calendar.ts';
import { nonscheduled } from '../../src/calendar.ts';
import type { StoredEvent } from '../../src/event.ts';
import { EQUIPMENT_STATES } from '../../src/equipment.ts';
import { type ChamberFacts, fleetFacts } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';
import { random } from './random-history.ts';

const HOUR = 3_600_000;

type Fact = readonly [at: number, state: string, reason: string, run?: string];

function factsOf(states: readonly Fact[], heardUntil = 100 * HOUR): ChamberFacts {
  const events = states.map(([at, state, reason, run], i) => ({
    kind: 'equipment-state',
    chamber: 'PC-01',
    at,
    state,
    reason,
    source: 'signal',
    run: run ?? null,
    seq: i + 1,
  }));
  return fleetFacts({
    chambers: ['PC-01'],
    events: events as unknown as StoredEvent[],
    heardUntil: { 'PC-01': heardUntil },
  })[0] as ChamberFacts;
}

const told = (facts: ChamberFacts, window: Span, free: readonly Span[] = []): string[] =>
  stateIntervals(facts, window, free).map(({ from, to, state }) => `${from / HOUR}-${to / HOUR} ${state}`);

describe('state intervals', () => {
  test('[IV1] a state holds until the next fact, from before the window to beyond it', () => {
    const facts = factsOf([
      [0, 'standby', 'idle'],
      [4 * HOUR, 'productive', 'run', 'r'],
      [6 * HOUR, 'standby', 'idle'],
    ]);
    expect(told(facts, { from: 2 * HOUR, to: 8 * HOUR })).toEqual(['2-4 standby', '4-6 productive', '6-8 standby']);
    expect(told(facts, { from: 4 * HOUR, to: 5 * HOUR })).toEqual(['4-5 productive']);
  });

  test('[IV2] before the first fact ever all time is unobserved', () => {
    expect(told(factsOf([[4 * HOUR, 'standby', 'idle']]), { from: 2 * HOUR, to: 8 * HOUR })).toEqual(['2-4 unobserved', '4-8 standby']);
    expect(told(factsOf([]), { from: 2 * HOUR, to: 8 * HOUR })).toEqual(['2-8 unobserved']);
    expect(told(factsOf([[9 * HOUR, 'standby', 'idle']]), { from: 2 * HOUR, to: 8 * HOUR })).toEqual(['2-8 unobserved']);
  });

  test('[IV2] after the last word from the chamber all time is unobserved, never idle', () => {
    const facts = factsOf(
      [
        [0, 'standby', 'idle'],
        [7 * HOUR, 'productive', 'run'],
      ],
      5 * HOUR,
    );
    expect(told(facts, { from: 2 * HOUR, to: 8 * HOUR })).toEqual(['2-5 standby', '5-8 unobserved']);
    expect(told(factsOf([[0, 'standby', 'idle']], 1 * HOUR), { from: 2 * HOUR, to: 8 * HOUR })).toEqual(['2-8 unobserved']);
  });

  test('[IV2] a chamber that nobody says was heard counts as last heard at its last event', () => {
    const events = [
      { kind: 'equipment-state', chamber: 'PC-01', at: HOUR, state: 'standby', reason: 'idle', source: 'signal', run: null, seq: 1 },
    ];
    const facts = fleetFacts({ chambers: ['PC-01'], events: events as StoredEvent[], heardUntil: {} })[0] as ChamberFacts;
    expect(told(facts, { from: 0, to: 4 * HOUR })).toEqual(['0-1 unobserved', '1-4 unobserved']);
  });

  test('[IV3] the calendar replaces idle time and downtime, and splits what reaches into it', () => {
    const free = [
      { from: 3 * HOUR, to: 5 * HOUR },
      { from: 6 * HOUR, to: 7 * HOUR },
    ];
    expect(told(factsOf([[0, 'standby', 'idle']]), { from: 2 * HOUR, to: 8 * HOUR }, free)).toEqual([
      '2-3 standby',
      '3-5 nonscheduled',
      '5-6 standby',
      '6-7 nonscheduled',
      '7-8 standby',
    ]);
    expect(told(factsOf([[0, 'unscheduled-downtime', 'repair']]), { from: 3 * HOUR, to: 6 * HOUR }, free)).toEqual([
      '3-5 nonscheduled',
      '5-6 unscheduled-downtime',
    ]);
    expect(told(factsOf([[0, 'engineering', 'trial']]), { from: 4 * HOUR, to: 5 * HOUR }, free)).toEqual(['4-5 nonscheduled']);
  });

  test('[IV3] the calendar does not replace a run in progress, productive time or unobserved time', () => {
    const free = [{ from: 0, to: 9 * HOUR }];
    const facts = factsOf([
      [0, 'engineering', 'run', 'r1'],
      [2 * HOUR, 'productive', 'load or unload'],
      [4 * HOUR, 'unobserved', 'no data'],
      [6 * HOUR, 'standby', 'hold', 'r1'],
      [8 * HOUR, 'standby', 'idle'],
    ]);
    expect(told(facts, { from: 0, to: 10 * HOUR }, free)).toEqual([
      '0-2 engineering',
      '2-4 productive',
      '4-6 unobserved',
      '6-8 standby',
      '8-9 nonscheduled',
      '9-10 standby',
    ]);
  });

  test('[FA1] of two facts at the same moment the later committed one holds, and late facts fall into their place', () => {
    const facts = factsOf([
      [0, 'standby', 'idle'],
      [4 * HOUR, 'unobserved', 'no data'],
      [6 * HOUR, 'standby', 'idle'],
      [4 * HOUR, 'productive', 'run', 'r'],
      [5 * HOUR, 'standby', 'idle'],
    ]);
    expect(told(facts, { from: 3 * HOUR, to: 7 * HOUR })).toEqual(['3-4 standby', '4-5 productive', '5-6 standby', '6-7 standby']);
  });

  test('[FA1] the same fact given twice is one fact, and chambers not asked for are left out', () => {
    const event = {
      kind: 'equipment-state',
      chamber: 'PC-01',
      at: 5,
      state: 'standby',
      reason: 'idle',
      source: 'signal',
      run: null,
      seq: 9,
    } as const;
    const other = { ...event, chamber: 'PC-99', seq: 3 };
    const [facts] = fleetFacts({ chambers: ['PC-01'], opening: [event], events: [other, event], heardUntil: {} });
    expect(facts?.states).toEqual([event]);
  });

  test('[IV4] [UT1] any facts, window, calendar and last word: the intervals follow one another and sum to the window to the millisecond', () => {
    const calendar: Calendar = {
      zone: 'Europe/Berlin',
      holidays: [{ date: '2026-10-23', name: 'x' }],
      shifts: [
        { name: 'Night', days: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat'], from: '22:00', to: '06:00' },
        { name: 'Day', days: ['mon', 'wed', 'sat', 'sun'], from: '07:15', to: '16:45' },
      ],
    };
    const start = Date.UTC(2026, 9, 19);
    const moment = fc.integer({ min: 0, max: 7 * 24 * HOUR });
    const fact = fc.record({ at: moment, state: fc.constantFrom(...EQUIPMENT_STATES), run: fc.constantFrom(null, 'r') });
    fc.assert(
      fc.property(fc.array(fact, { maxLength: 40 }), moment, moment, fc.option(moment), (drafts, a, b, heard) => {
        const window = { from: start + Math.min(a, b), to: start + Math.max(a, b) };
        const events = drafts.map((draft, i) => ({
          ...draft,
          at: start + draft.at,
          kind: 'equipment-state',
          chamber: 'PC-01',
          reason: 'x',
          source: 'signal',
          seq: i + 1,
        }));
        const [facts] = fleetFacts({
          chambers: ['PC-01'],
          events: events as unknown as StoredEvent[],
          heardUntil: heard === null ? {} : { 'PC-01': start + heard },
        });
        const intervals = stateIntervals(facts as ChamberFacts, window, nonscheduled(calendar, window.from, window.to));
        let at = window.from;
        for (const interval of intervals) {
          expect(interval.from).toBe(at);
          expect(interval.to).toBeGreaterThan(interval.from);
          at = interval.to;
        }
        if (window.to > window.from) expect(at).toBe(window.to);
        else expect(intervals).toEqual([]);
      }),
      { seed: 20261125, numRuns: 2000 },
    );
  });

  test('[IV3] over 300 random books every minute is what the chamber did, or nonscheduled where the calendar goes before it', () => {
    const dice = random(9);
    const minute = 60_000;
    for (let round = 0; round < 300; round++) {
      const states: Fact[] = [];
      for (let at = 0; at < 200; at += 1 + Math.floor(dice() * 20)) {
        const state = EQUIPMENT_STATES[Math.floor(dice() * 7)] as string;
        states.push(dice() < 0.3 ? [at * minute, state, 'x', 'r'] : [at * minute, state, 'x']);
      }
      const free: Span[] = [];
      for (let at = Math.floor(dice() * 30); at < 200; at += 30)
        free.push({ from: at * minute, to: (at + 1 + Math.floor(dice() * 29)) * minute });
      const window = { from: Math.floor(dice() * 50) * minute, to: 180 * minute };
      const intervals = stateIntervals(factsOf(states, 170 * minute), window, free);
      for (let at = window.from; at < window.to; at += minute) {
        const [, state = '', , run] = states.findLast((fact) => fact[0] <= at) as Fact;
        const own = at < 170 * minute ? state : 'unobserved';
        const isFree = free.some(({ from, to }) => from <= at && at < to);
        const goesBefore = run === undefined && own !== 'productive' && own !== 'unobserved';
        const found = intervals.find(({ from, to }) => from <= at && at < to);
        expect(found?.state).toBe(isFree && (goesBefore || own === 'nonscheduled') ? 'nonscheduled' : own);
      }
    }
  });
});
