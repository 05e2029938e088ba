import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Calendar, nonscheduled } from '../../src/calendar.ts';
import type { StateInterval } from '../../src/contract.ts';
import { EQUIPMENT_STATES, TOLD_STATES } from '../../src/equipment.ts';
import type { ReasonEvent, StoredEvent } from '../../src/event.ts';
import { type ChamberFacts, fleetFacts } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';
import { LONGEST_ENTRY_MS, openEnd } from '../../src/reason.ts';
import { stateTimes } from '../../src/utilization.ts';
import { windowNumbers } from '../../src/window.ts';
import { randomHistory } from './random-history.ts';

const HOUR = 3_600_000;
const DAY = 24 * HOUR;

type Draft = { readonly [key: string]: unknown };

const stored = (drafts: readonly Draft[]): StoredEvent[] => drafts.map((draft, i) => ({ ...draft, seq: i + 1 }) as unknown as StoredEvent);

const state = (at: number, name: string, reason = name): Draft => ({
  kind: 'equipment-state',
  chamber: 'PC-01',
  at: at * HOUR,
  state: name,
  reason,
  source: 'signal',
  run: null,
});

/** `from` and `to` in hours. */
const word = (entry: string, from: number, to: number | null, more: Partial<ReasonEvent> = {}): Draft => ({
  kind: 'reason',
  chamber: 'PC-01',
  entry,
  at: from * HOUR,
  to: to === null ? null : to * HOUR,
  state: 'unscheduled-downtime',
  reason: 'repair',
  note: '',
  by: 'A. Person',
  enteredAt: 50 * HOUR,
  downtime: 'repair',
  workedOn: [],
  ...more,
});

const back = (entry: string, at = 60): Draft => ({ kind: 'reason-withdrawn', chamber: 'PC-01', entry, at: at * HOUR, by: 'B. Person' });

const factsOf = (drafts: readonly Draft[], openEnds?: ReadonlyMap<string, number>): ChamberFacts =>
  fleetFacts({
    chambers: ['PC-01'],
    events: stored(drafts),
    heardUntil: { 'PC-01': 1000 * DAY },
    ...(openEnds ? { openEnds } : {}),
  })[0] as ChamberFacts;

const lines = (intervals: readonly StateInterval[]): string[] =>
  intervals.map(({ from, to, state: name, reason }) => `${from / HOUR}-${to / HOUR} ${name}: ${reason}`);
const told = (drafts: readonly Draft[], to = 10, free: { from: number; to: number }[] = []): string[] =>
  lines(stateIntervals(factsOf(drafts), { from: 0, to: to * HOUR }, free));

describe('reason entries', () => {
  test('[RE6] [IV5] a told span lies over the facts, splits them, and both stay visible', () => {
    const facts = factsOf([
      state(0, 'standby', 'idle'),
      state(4, 'unscheduled-downtime', 'tripped: RF_FAULT'),
      state(6, 'standby', 'idle'),
      word('a', 5, 7),
    ]);
    const intervals = stateIntervals(facts, { from: 0, to: 8 * HOUR }, []);
    expect(lines(intervals)).toEqual([
      '0-4 standby: idle',
      '4-5 unscheduled-downtime: tripped: RF_FAULT',
      '5-6 unscheduled-downtime: repair',
      '6-7 unscheduled-downtime: repair',
      '7-8 standby: idle',
    ]);
    expect(
      intervals.map(({ source, entry, downtime, observed }) => [
        source,
        entry,
        downtime,
        observed?.state ?? null,
        observed?.reason ?? null,
      ]),
    ).toEqual([
      ['signal', null, null, null, null],
      ['signal', null, null, null, null],
      ['person', 'a', 'repair', 'unscheduled-downtime', 'tripped: RF_FAULT'],
      ['person', 'a', 'repair', 'standby', 'idle'],
      ['signal', null, null, null, null],
    ]);
  });

  test('[RE6] a millisecond told is a millisecond', () => {
    const facts = factsOf([state(0, 'standby', 'idle'), { ...word('a', 0, 0), at: 1, to: 2 }, { ...word('b', 0, 0), at: 3, to: 4 }]);
    const intervals = stateIntervals(facts, { from: 0, to: 6 }, []);
    expect(intervals.map(({ from, to, entry }) => [from, to, entry])).toEqual([
      [0, 1, null],
      [1, 2, 'a'],
      [2, 3, null],
      [3, 4, 'b'],
      [4, 6, null],
    ]);
  });

  test('[RE1] an entry that was taken back counts nowhere, whichever of the two facts is read first', () => {
    const facts = [state(0, 'standby', 'idle')];
    expect(told([...facts, word('a', 2, 4), back('a')])).toEqual(['0-10 standby: idle']);
    expect(told([back('a'), word('a', 2, 4), ...facts])).toEqual(['0-10 standby: idle']);
  });

  test('[RE2] of overlapping entries the later word holds, and the earlier shows where it does not reach', () => {
    const first = word('a', 2, 8, { enteredAt: 50 * HOUR });
    const second = word('b', 4, 6, { enteredAt: 51 * HOUR, state: 'scheduled-downtime', reason: 'cleaning', downtime: null });
    const expected = [
      '0-2 standby: idle',
      '2-4 unscheduled-downtime: repair',
      '4-6 scheduled-downtime: cleaning',
      '6-8 unscheduled-downtime: repair',
      '8-10 standby: idle',
    ];
    expect(told([state(0, 'standby', 'idle'), first, second])).toEqual(expected);
    expect(told([second, first, state(0, 'standby', 'idle')])).toEqual(expected);
    const wide = word('c', 1, 9, { enteredAt: 52 * HOUR, reason: 'test after repair' });
    expect(told([wide, first, second, state(0, 'standby', 'idle')])).toEqual([
      '0-1 standby: idle',
      '1-9 unscheduled-downtime: test after repair',
      '9-10 standby: idle',
    ]);
    const twin = word('z', 4, 6, { enteredAt: 50 * HOUR, reason: 'no operator', state: 'standby', downtime: null });
    expect(told([twin, first, state(0, 'standby', 'idle')])[2]).toBe('4-6 standby: no operator');
  });

  test('[RE3] an entry without an end ends with the state it was entered in, reasons and holes inside it do not', () => {
    const facts = [
      state(0, 'standby', 'idle'),
      state(2, 'unscheduled-downtime', 'tripped: RF_FAULT'),
      state(3, 'unscheduled-downtime', 'repair'),
      state(5, 'unobserved', 'no data'),
      state(6, 'unscheduled-downtime', 'repair'),
      state(7, 'standby', 'idle'),
    ];
    const open = word('a', 2, null, { enteredAt: 4 * HOUR, reason: 'facilities: water', downtime: 'facilities' });
    expect(told([...facts, open])).toEqual([
      '0-2 standby: idle',
      '2-3 unscheduled-downtime: facilities: water',
      '3-5 unscheduled-downtime: facilities: water',
      '5-6 unobserved: no data',
      '6-7 unscheduled-downtime: facilities: water',
      '7-10 standby: idle',
    ]);
    expect(openEnd(factsOf(facts).states, 4 * HOUR)).toBe(7 * HOUR);
    expect(openEnd(factsOf(facts).states, 5.5 * HOUR)).toBe(7 * HOUR);
    expect(openEnd(factsOf(facts).states, 2 * HOUR)).toBe(7 * HOUR);
    expect(openEnd(factsOf(facts).states, 8 * HOUR)).toBe(Infinity);
    expect(openEnd([], 8 * HOUR)).toBe(Infinity);
    // Of two facts at the same moment the later committed one holds: the other never was.
    const twice = factsOf([state(0, 'standby'), state(2, 'productive'), state(2, 'standby'), state(3, 'productive')]);
    expect(openEnd(twice.states, HOUR)).toBe(3 * HOUR);
  });

  test('[RE3] where the facts do not reach back to the word, its end is taken as given', () => {
    const facts = [state(5, 'standby', 'idle'), word('a', -40, null, { enteredAt: -30 * HOUR })];
    expect(lines(stateIntervals(factsOf(facts, new Map([['a', 7 * HOUR]])), { from: 5 * HOUR, to: 9 * HOUR }, []))).toEqual([
      '5-7 unscheduled-downtime: repair',
      '7-9 standby: idle',
    ]);
  });

  test('[RE3] nothing said once reaches further than 60 days', () => {
    const facts = factsOf([state(0, 'standby', 'idle'), word('a', 0, null, { enteredAt: HOUR })]);
    const intervals = stateIntervals(facts, { from: 0, to: 100 * DAY }, []);
    expect(intervals.map(({ to }) => to)).toEqual([LONGEST_ENTRY_MS, 100 * DAY]);
  });

  test('[RE4] a told span goes before the calendar, an open one leaves nonscheduled time alone', () => {
    const free = [{ from: 4 * HOUR, to: 6 * HOUR }];
    const facts = [state(0, 'unscheduled-downtime', 'tripped: RF_FAULT')];
    expect(told([...facts, word('a', 3, 8)], 10, free)).toEqual([
      '0-3 unscheduled-downtime: tripped: RF_FAULT',
      '3-4 unscheduled-downtime: repair',
      '4-6 unscheduled-downtime: repair',
      '6-8 unscheduled-downtime: repair',
      '8-10 unscheduled-downtime: tripped: RF_FAULT',
    ]);
    expect(told([...facts, word('a', 3, null, { enteredAt: 3.5 * HOUR })], 10, free)).toEqual([
      '0-3 unscheduled-downtime: tripped: RF_FAULT',
      '3-4 unscheduled-downtime: repair',
      '4-6 nonscheduled: no shift planned',
      '6-10 unscheduled-downtime: repair',
    ]);
  });

  test('[RE5] unobserved time stays unobserved, before the first word, in a hole and after the last word', () => {
    const drafts = [state(2, 'standby', 'idle'), state(4, 'unobserved', 'no data'), state(5, 'standby', 'idle'), word('a', 0, 10)];
    const [facts] = fleetFacts({ chambers: ['PC-01'], events: stored(drafts), heardUntil: { 'PC-01': 8 * HOUR } });
    expect(lines(stateIntervals(facts as ChamberFacts, { from: 0, to: 10 * HOUR }, []))).toEqual([
      '0-2 unobserved: before the first observation',
      '2-4 unscheduled-downtime: repair',
      '4-5 unobserved: no data',
      '5-8 unscheduled-downtime: repair',
      '8-10 unobserved: no data',
    ]);
  });
});

/* Properties: any history, any entries. */

const SPAN = 9 * DAY;
const START = Date.UTC(2026, 9, 19);
/** Some of them close together, to the millisecond. */
const moment = fc.oneof(fc.integer({ min: 0, max: SPAN }), fc.integer({ min: 0, max: 9 }));
const anEntry = fc
  .record({
    at: moment,
    lengthMs: fc.option(fc.integer({ min: 1, max: 2 * DAY })),
    state: fc.constantFrom(...TOLD_STATES),
    enteredAt: moment,
    isBack: fc.boolean(),
  })
  .map(({ at, lengthMs, enteredAt, ...rest }) => ({
    ...rest,
    at: START + Math.min(at, enteredAt),
    to: lengthMs === null ? null : START + Math.min(at, enteredAt) + lengthMs,
    enteredAt: START + enteredAt,
  }));
const aFact = fc.record({ at: moment, state: fc.constantFrom(...EQUIPMENT_STATES.filter((name) => name !== 'nonscheduled')) });
const CALENDAR: Calendar = {
  zone: 'Europe/Berlin',
  holidays: [{ date: '2026-10-23', name: 'x' }],
  shifts: [
    { name: 'Night', days: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat'], from: '22:00', to: '06:00' },
    { name: 'Day', days: ['mon', 'wed', 'sat', 'sun'], from: '07:15', to: '16:45' },
  ],
};

type AnEntry = { at: number; to: number | null; state: string; enteredAt: number; isBack: boolean };
const draftOf = ({ isBack: _, ...entry }: AnEntry, i: number): Draft => ({ ...word(`e${i}`, 0, 0), ...entry, state: entry.state });
const stateDraft = (fact: { at: number; state: string }): Draft => ({ ...state(0, fact.state), at: START + fact.at });

const seeded = { seed: 20261125, numRuns: 600 };

describe('reason entries, whatever was told', () => {
  test('[RE6] [IV4] the intervals stay an exact partition, and where nothing was told they are the observed ones', () => {
    fc.assert(
      fc.property(fc.array(aFact, { maxLength: 30 }), fc.array(anEntry, { maxLength: 12 }), moment, moment, (facts, entries, a, b) => {
        const window = { from: START + Math.min(a, b), to: START + Math.max(a, b) };
        const free = nonscheduled(CALENDAR, window.from, window.to);
        const drafts = facts.map(stateDraft);
        const plain = stateIntervals(factsOf(drafts), window, free);
        const intervals = stateIntervals(factsOf([...drafts, ...entries.map(draftOf)]), window, free);
        let at = window.from;
        for (const interval of intervals) {
          expect(interval.from).toBe(at);
          expect(interval.to).toBeGreaterThan(interval.from);
          at = interval.to;
          const below = plain.find(({ from, to }) => from <= interval.from && interval.to <= to);
          const { state: observed, reason } = below as StateInterval;
          expect(interval.observed ?? { state: interval.state, reason: interval.reason }).toEqual({ state: observed, reason });
          if (observed === 'unobserved') expect(interval.entry).toBeNull();
        }
        if (window.to > window.from) expect(at).toBe(window.to);
      }),
      seeded,
    );
  });

  test('[RE1] taking back leaves exactly the numbers of before, for the fleet and all it counts', () => {
    const events = randomHistory({ from: START, to: START + SPAN, seed: 7, chambers: ['PC-01'] });
    const window = { from: START + DAY, to: START + 8 * DAY };
    const numbers = (more: readonly Draft[]): unknown => {
      const facts = fleetFacts({ chambers: ['PC-01'], events: [...events, ...stored(more)], heardUntil: { 'PC-01': START + SPAN } });
      return windowNumbers(facts, window, CALENDAR);
    };
    const before = numbers([]);
    fc.assert(
      fc.property(fc.array(anEntry, { minLength: 1, maxLength: 5 }), (entries) => {
        const words = entries.map(draftOf);
        expect(numbers([...words, ...words.map(({ entry }) => back(String(entry)))])).toEqual(before);
      }),
      { ...seeded, numRuns: 100 },
    );
  });

  test('[RE1] [RE2] in which order words and facts arrive changes nothing', () => {
    fc.assert(
      fc.property(
        fc.array(aFact, { minLength: 1, maxLength: 20 }),
        fc.array(anEntry, { minLength: 1, maxLength: 8 }),
        fc.infiniteStream(fc.nat()),
        (facts, entries, dice) => {
          const window = { from: START, to: START + SPAN };
          // Two facts of the same moment are told apart by their order of commit alone, so that each has its own moment here.
          const apart = [...new Map(facts.map((fact) => [fact.at, fact])).values()].map(stateDraft);
          const words = entries.flatMap((entry, i) => [draftOf(entry, i), ...(entry.isBack ? [back(`e${i}`)] : [])]);
          const all = [...apart, ...words];
          const mixed = all.map((draft) => ({ draft, key: dice.next().value as number })).sort((a, b) => a.key - b.key);
          const of = (drafts: readonly Draft[]): unknown =>
            stateIntervals(factsOf(drafts), window, nonscheduled(CALENDAR, window.from, window.to));
          expect(of(mixed.map(({ draft }) => draft))).toEqual(of(all));
        },
      ),
      seeded,
    );
  });

  test('[RE6] a correction gives the hours that the truth would have given, had it been known at first', () => {
    fc.assert(
      fc.property(fc.array(aFact, { minLength: 1, maxLength: 20 }), fc.array(anEntry, { maxLength: 6 }), (facts, entries) => {
        const window = { from: START, to: START + SPAN };
        const drafts = facts.map(stateDraft);
        const closed = entries.filter(({ to }) => to !== null);
        // The truth, minute free: at each cut, what the last word said, or else what was observed.
        const observed = stateIntervals(factsOf(drafts), window, []);
        const heldAt = (at: number): StateInterval => observed.find(({ from, to }) => from <= at && at < to) as StateInterval;
        const order = closed
          .map((entry, i) => ({ ...entry, id: `e${entries.indexOf(entry)}`, i }))
          .sort((a, b) => a.enteredAt - b.enteredAt || (a.id < b.id ? -1 : 1));
        const cuts = [window.from, ...observed.map(({ from }) => from), ...closed.flatMap(({ at, to }) => [at, to as number])];
        const truth = [...new Set(cuts)]
          .filter((at) => at >= window.from && at < window.to)
          .sort((a, b) => a - b)
          .map((at) => {
            const below = heldAt(at);
            const said = below.state === 'unobserved' ? undefined : order.findLast((entry) => entry.at <= at && at < (entry.to as number));
            return stateDraft({ at: at - START, state: said?.state ?? below.state });
          });
        const corrected = stateIntervals(factsOf([...drafts, ...entries.map(draftOf).filter(({ to }) => to !== null)]), window, []);
        expect(stateTimes(corrected)).toEqual(stateTimes(stateIntervals(factsOf(truth), window, [])));
      }),
      seeded,
    );
  });
});
