import { describe, expect, test } from 'vitest';
import { downtimeEvents, interrupts } from '../../src/interrupts.ts';
import { MIN, stretches, told } from './stretches.ts';

const RUN = [30, 'productive', 'run', { run: 'PC-01/a' }] as const;
const trip = (minutes: number) => [minutes, 'unscheduled-downtime', 'tripped: RF fault'] as const;
const IDLE = [60, 'standby', 'idle'] as const;
const kinds = (list: Parameters<typeof stretches>[0]) => interrupts(stretches(list)).map(({ kind }) => kind);

describe('interrupts (rules in the manner of SEMI E10, from memory)', () => {
  test('[IU1] what the reason says may change inside a stop, and a weekend in it does not end it', () => {
    const found = interrupts(
      stretches([
        RUN,
        trip(20),
        [40, 'unscheduled-downtime', 'repair: RF fault'],
        [600, 'nonscheduled', 'no shift planned'],
        trip(5),
        IDLE,
      ]),
    );
    expect(found).toHaveLength(1);
    expect(found[0]).toMatchObject({ from: 30 * MIN, to: 695 * MIN, downMs: 65 * MIN, reason: 'tripped: RF fault' });
  });

  test('[IU2] six minutes to the millisecond is an assist, a millisecond more a failure', () => {
    expect(kinds([RUN, trip(6), IDLE])).toEqual(['assist']);
    expect(kinds([RUN, trip(6 + 1 / MIN), IDLE])).toEqual(['failure']);
    expect(interrupts(stretches([RUN, trip(6), IDLE]), 5 * MIN)[0]?.kind).toBe('failure');
  });

  test('[IU2] maintenance mode makes a failure of the shortest stop, also where a person told something over it', () => {
    expect(kinds([RUN, trip(1), [1, 'unscheduled-downtime', 'repair: RF fault'], IDLE])).toEqual(['failure']);
    expect(kinds([RUN, [2, 'unscheduled-downtime', 'cleaning', told(null, 'repair: RF fault')], IDLE])).toEqual(['failure']);
  });

  test('[IU2] no word makes an assist of a stop over the limit, of one in service mode, or of one told as repair, test or delay', () => {
    const cleared = (minutes: number, over = 'tripped: RF fault') =>
      [minutes, 'unscheduled-downtime', 'cleared by operator', told('assist', over)] as const;
    expect(kinds([RUN, cleared(190), IDLE])).toEqual(['failure']);
    expect(kinds([RUN, cleared(6 + 1 / MIN), IDLE])).toEqual(['failure']);
    expect(kinds([RUN, cleared(3, 'repair: RF fault'), IDLE])).toEqual(['failure']);
    expect(kinds([RUN, cleared(6), IDLE])).toEqual(['assist']);
    for (const kind of ['repair', 'test', 'user-delay', 'supplier-delay'] as const)
      expect(kinds([RUN, cleared(4), [1, 'unscheduled-downtime', kind, told(kind, 'tripped: RF fault')], IDLE])).toEqual(['failure']);
  });

  test('[IU2] a word decides where the length is not known, as far as what was seen is within the limit', () => {
    const cleared = (minutes: number) =>
      [minutes, 'unscheduled-downtime', 'cleared by operator', told('assist', 'tripped: RF fault')] as const;
    const hole = [1, 'unobserved', 'no data'] as const;
    expect(kinds([RUN, cleared(4), hole, IDLE])).toEqual(['assist']);
    expect(kinds([RUN, trip(4), hole, IDLE])).toEqual(['failure']);
    expect(kinds([RUN, cleared(7), hole, IDLE])).toEqual(['failure']);
  });

  test('[IU3] a stop told wholly as facilities or out-of-spec input is neither; in part, it is a failure', () => {
    const water = [30, 'unscheduled-downtime', 'facilities: cooling water', told('facilities', 'tripped: Water')] as const;
    const input = [10, 'unscheduled-downtime', 'out of spec', told('out-of-spec-input', 'tripped: Water')] as const;
    expect(kinds([RUN, water, input, IDLE])).toEqual(['external']);
    expect(kinds([RUN, water, trip(10), IDLE])).toEqual(['failure']);
  });

  test('[IU4] unobserved time in or beside a stop leaves its length unknown: cut, never an assist by length, and no second stop', () => {
    const hole = [10, 'unobserved', 'no data'] as const;
    for (const list of [
      [RUN, trip(1), hole, IDLE],
      [RUN, hole, trip(1), IDLE],
      [RUN, trip(1), hole, trip(1), IDLE],
    ])
      expect(interrupts(stretches(list)).map(({ kind, cut, open }) => ({ kind, cut, open }))).toEqual([
        { kind: 'failure', cut: true, open: false },
      ]);
    expect(kinds([RUN, hole, IDLE, trip(1), IDLE])).toEqual(['assist']);
  });

  test('[IU4] a stop after which nothing more is known is not over', () => {
    for (const list of [
      [RUN, trip(90)],
      [RUN, trip(90), [500, 'unobserved', 'no data'] as const],
    ])
      expect(interrupts(stretches(list))[0]).toMatchObject({ kind: 'failure', open: true, cut: false });
  });

  test("[IU5] repair time leaves out what a person called delay, one's own or the maker's", () => {
    const list = [
      RUN,
      [30, 'unscheduled-downtime', 'waiting for maintenance', told('user-delay', 'tripped: RF fault')] as const,
      [50, 'unscheduled-downtime', 'waiting for parts', told('supplier-delay', 'tripped: RF fault')] as const,
      [40, 'unscheduled-downtime', 'RF generator or match', told('repair', 'repair: RF fault')] as const,
      IDLE,
    ];
    expect(interrupts(stretches(list))[0]).toMatchObject({ downMs: 120 * MIN, delayMs: 80 * MIN });
  });

  test('[IU6] a stop hit production when it began in a run or out of productive time', () => {
    const hit = (list: Parameters<typeof stretches>[0]) => interrupts(stretches(list))[0]?.inProduction;
    expect(hit([RUN, trip(30), IDLE])).toBe(true);
    expect(hit([IDLE, [30, 'unscheduled-downtime', 'tripped: RF fault', { run: 'PC-01/a' }], IDLE])).toBe(true);
    expect(hit([IDLE, trip(30), IDLE])).toBe(false);
  });

  test('[IU7] downtime is one event whatever kinds it has, and two when the chamber was able to run in between', () => {
    const service = [30, 'scheduled-downtime', 'maintenance'] as const;
    expect(downtimeEvents(stretches([RUN, trip(10), service, IDLE, service, IDLE]))).toEqual([
      { from: 30 * MIN, to: 70 * MIN },
      { from: 130 * MIN, to: 160 * MIN },
    ]);
  });
});
