import { describe, expect, test } from 'vitest';
import type { StateInterval } from '../../src/contract.ts';
import { doingOf, loadRates, losses, stopText } from '../../src/losses.ts';
import { noHours } from './random-history.ts';

const interval = (from: number, to: number, state: StateInterval['state'], reason: string, chamber = 'PC-01'): StateInterval => ({
  chamber,
  from,
  to,
  state,
  reason,
  source: 'tag',
  run: null,
  entry: null,
  downtime: null,
  observed: null,
});

describe('losses', () => {
  test('[LO1] standby and downtime are lost by their reason, largest first; productive, engineering and nonscheduled time is not', () => {
    const found = losses([
      [
        interval(0, 100, 'productive', 'run'),
        interval(100, 130, 'standby', 'idle'),
        interval(130, 200, 'engineering', 'run'),
        interval(200, 300, 'nonscheduled', 'no shift planned'),
        interval(300, 390, 'unscheduled-downtime', 'repair'),
      ],
      [interval(0, 75, 'standby', 'idle', 'PC-02'), interval(75, 80, 'scheduled-downtime', 'maintenance', 'PC-02')],
    ]);
    expect(found.map(({ cause, state, lostMs, occurrences }) => [cause, state, lostMs, occurrences])).toEqual([
      ['idle', 'standby', 105, 2],
      ['repair', 'unscheduled-downtime', 90, 1],
      ['maintenance', 'scheduled-downtime', 5, 1],
    ]);
    expect(found[0]?.chambers).toEqual([
      { chamber: 'PC-02', lostMs: 75 },
      { chamber: 'PC-01', lostMs: 30 },
    ]);
  });

  test('[LO2] unobserved time comes last, under one name, however long it is', () => {
    const found = losses([
      [
        interval(0, 900, 'unobserved', 'no data'),
        interval(900, 910, 'standby', 'idle'),
        interval(910, 950, 'unobserved', 'before the first observation'),
      ],
    ]);
    expect(found.map(({ cause, lostMs, occurrences }) => [cause, lostMs, occurrences])).toEqual([
      ['idle', 10, 1],
      ['not observed', 940, 2],
    ]);
  });

  test('[LO5] tripped by a fault and in repair of it is one cause and one stop, with both as its parts; a person keeps his words', () => {
    const [fault, ...rest] = losses([
      [
        interval(0, 10, 'unscheduled-downtime', 'tripped: RF generator fault'),
        interval(10, 50, 'unscheduled-downtime', 'repair: RF generator fault'),
        interval(50, 55, 'unscheduled-downtime', 'tripped: RF generator fault'),
        interval(55, 60, 'standby', 'repair: RF generator fault'),
        interval(60, 70, 'unscheduled-downtime', 'repair'),
      ],
    ]);
    expect(fault).toMatchObject({ cause: 'RF generator fault', state: 'unscheduled-downtime', lostMs: 55, occurrences: 1 });
    expect(fault?.parts).toEqual([
      { reason: 'repair: RF generator fault', lostMs: 40 },
      { reason: 'tripped: RF generator fault', lostMs: 15 },
    ]);
    expect(fault?.parts.map(({ reason }) => doingOf(reason))).toEqual(['repair', 'tripped']);
    expect(rest.map(({ cause, state }) => [cause, state])).toEqual([
      ['repair', 'unscheduled-downtime'],
      ['repair: RF generator fault', 'standby'],
    ]);
  });

  test('[LO6] a stop names each cause once, with all that was done about it', () => {
    const text = 'Leak suspected, base not reached';
    expect(stopText([`tripped: ${text}`, `repair: ${text}`])).toBe(`${text} (tripped, repair)`);
    expect(stopText(['stopped: run interrupted', 'repair: Pump fault'])).toBe('run interrupted (stopped); Pump fault (repair)');
    expect(stopText(['repair'])).toBe('repair');
    expect(stopText(['no operator', 'tripped: '])).toBe('no operator; tripped: ');
  });

  test('[LO3] a repair over the weekend is one occurrence', () => {
    const found = losses([
      [
        interval(0, 10, 'unscheduled-downtime', 'repair'),
        interval(10, 90, 'nonscheduled', 'no shift planned'),
        interval(90, 95, 'unscheduled-downtime', 'repair'),
      ],
    ]);
    expect(found).toMatchObject([{ cause: 'repair', lostMs: 15, occurrences: 1 }]);
  });

  test('[LO1] the same word in two states is two causes', () => {
    expect(losses([[interval(0, 10, 'scheduled-downtime', 'repair'), interval(10, 30, 'unscheduled-downtime', 'repair')]])).toHaveLength(2);
  });

  test('[LO4] hours are also told in loads: 6 h of a chamber that makes 2 loads in an hour, 3 h of one that made none at the rate of the fleet', () => {
    const H = 3_600_000;
    const time = (productive: number) => ({ ...noHours(), productive: productive * H });
    const loads = (completed: number) => ({ completed, aborted: 0, interrupted: 0, notFullyObserved: 0, engineering: 0 });
    const rates = loadRates([
      { chamber: 'PC-01', time: time(10), loads: loads(20) },
      { chamber: 'PC-02', time: time(10), loads: loads(0) },
    ]);
    const lost = [[interval(0, 6 * H, 'standby', 'idle')], [interval(0, 3 * H, 'standby', 'idle', 'PC-02')]];
    expect(losses(lost, rates)[0]?.loads).toBeCloseTo(12 + 3, 12);
    expect(losses(lost, loadRates([{ chamber: 'PC-01', time: time(10), loads: loads(0) }]))[0]?.loads).toBeNull();
    expect(losses(lost)[0]?.loads).toBeNull();
  });
});
