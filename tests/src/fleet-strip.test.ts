import { describe, expect, test } from 'vitest';
import { type Calendar, previousShifts } from '../../src/calendar.ts';
import { type ChamberTile, fleetStrip as fleetStripShape } from '../../src/contract.ts';
import type { StoredEvent } from '../../src/event.ts';
import { fleetFacts } from '../../src/facts.ts';
import { earlierShifts, fleetStrip, nextToFinish, tileCounts, usualShift } from '../../src/fleet-strip.ts';
import { windowNumbers } from '../../src/window.ts';
import { CHAMBERS, randomHistory } from './random-history.ts';

const HOUR = 3_600_000;
const calendar: Calendar = {
  zone: 'UTC',
  holidays: [],
  shifts: [{ name: 'Early', days: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'], from: '06:00', to: '14:00' }],
};
const day = (n: number, hour = 0): number => Date.UTC(2026, 10, n, hour);
const NOW = day(25, 10);

function tile(chamber: string, part: Partial<ChamberTile> = {}): ChamberTile {
  return {
    chamber,
    name: chamber,
    bay: 'Amber',
    floor: { column: 1, row: 1 },
    state: 'standby',
    reason: 'idle',
    told: null,
    stateSince: 0,
    phase: 'idle',
    phaseSince: 0,
    step: null,
    stepCount: null,
    recipe: null,
    need: null,
    waitingSince: null,
    run: null,
    alarms: { standing: 0, worst: null },
    heardAt: NOW,
    link: 'live',
    skewMs: null,
    ...part,
  };
}
const finishing = (chamber: string, likely: number | null, part: Partial<ChamberTile> = {}): ChamberTile =>
  tile(chamber, {
    run: {
      run: 'r',
      startedAt: 0,
      recipe: null,
      load: null,
      finish: likely === null ? null : { early: likely, likely, late: likely, basis: 'x' },
      stretches: [],
      holes: [],
    },
    ...part,
  });

/** Each day from 06:00: productive for `hours`, then idle, with a load per productive hour. */
function shiftDay(n: number, hours: number, seq: number): StoredEvent[] {
  const base = { chamber: 'PC-01', source: 'tag', run: null } as const;
  const runs = Array.from({ length: hours }, (_, i) => ({
    kind: 'run-ended',
    chamber: 'PC-01',
    at: day(n, 6) + (i + 0.5) * HOUR,
    run: `r${n}/${i}`,
    startedAt: day(n, 6),
    outcome: 'completed',
    recipe: null,
    load: null,
    engineering: false,
    doorClosedAt: null,
    phases: [],
    observedMs: 1,
    seq: seq + 3 + i,
  }));
  return [
    { ...base, kind: 'equipment-state', at: day(n, 6), state: 'productive', reason: 'run', seq },
    { ...base, kind: 'equipment-state', at: day(n, 6) + hours * HOUR, state: 'standby', reason: 'idle', seq: seq + 1 },
    ...runs,
  ] as unknown as StoredEvent[];
}
const facts = (events: StoredEvent[], heard = NOW) => fleetFacts({ chambers: ['PC-01'], events, heardUntil: { 'PC-01': heard } });

describe('fleet strip', () => {
  test('[FS1] every tile is in exactly one count', () => {
    const tiles = [
      tile('1', { state: 'productive' }),
      tile('2'),
      tile('3', { waitingSince: 5 }),
      tile('4', { state: 'unscheduled-downtime' }),
      tile('5', { state: 'scheduled-downtime' }),
      tile('6', { state: 'engineering' }),
      tile('7', { state: 'nonscheduled' }),
      tile('8', { state: 'unobserved' }),
      tile('9', { state: 'productive', link: 'silent' }),
      tile('10', { link: 'never' }),
    ];
    const none = { handling: 0, hold: 0, told: 0 };
    expect(tileCounts(tiles)).toEqual({
      ...none,
      running: 1,
      waiting: 1,
      idle: 1,
      down: 1,
      maintenance: 1,
      unobserved: 3,
      nonscheduled: 1,
      engineering: 1,
    });
  });

  test('[FS2] the three nearest ends come first; no forecast, no guess; a silent chamber promises nothing', () => {
    const tiles = [
      finishing('a', 50),
      finishing('b', 20),
      finishing('c', null),
      finishing('d', 40),
      finishing('e', 10, { link: 'silent' }),
      finishing('f', 30),
      tile('g'),
    ];
    expect(nextToFinish(tiles)).toEqual([
      { chamber: 'b', at: 20 },
      { chamber: 'f', at: 30 },
      { chamber: 'd', at: 40 },
    ]);
  });

  test('[FS3] usual are medians over the same elapsed part of earlier shifts of the name', () => {
    // Four hours into the shift on the 25th. Before: 1, 2, 3, 6 hours productive; of the last one only four count.
    const events = [
      [21, 1],
      [22, 2],
      [23, 3],
      [24, 6],
    ].flatMap(([n, hours], i) => shiftDay(n as number, hours as number, i * 100 + 1));
    expect(usualShift(earlierShifts(facts(events), calendar, NOW))).toEqual({ shifts: 4, loads: 2.5, utilization: (2 / 4 + 3 / 4) / 2 });
  });

  test('[FS3] at most ten earlier shifts are taken, the newest', () => {
    const events = Array.from({ length: 14 }, (_, i) => shiftDay(11 + i, i < 4 ? 4 : 1, i * 100 + 1)).flat();
    expect(usualShift(earlierShifts(facts(events), calendar, NOW))).toMatchObject({ shifts: 10, loads: 1 });
  });

  test('[FS3] a shift that was not observed is not compared with, and with none there is nothing usual', () => {
    const events = [...shiftDay(23, 4, 1), ...shiftDay(24, 2, 100)];
    const unseen = {
      kind: 'equipment-state',
      chamber: 'PC-01',
      // 15 of the 240 minutes from 06:00 on: over 80 % were seen, under 95 %.
      at: day(24, 9) + 0.75 * HOUR,
      state: 'unobserved',
      reason: 'no data',
      source: 'gap',
      run: null,
      seq: 500,
    } as StoredEvent;
    expect(usualShift(earlierShifts(facts([...events, unseen]), calendar, NOW))).toEqual({ shifts: 2 - 1, loads: 4, utilization: 1 });
    expect(usualShift(earlierShifts(facts(shiftDay(25, 2, 1)), calendar, NOW))).toBeNull();
    expect(usualShift(earlierShifts(facts(events), calendar, day(25, 20)))).toBeNull();
  });

  test('[FS4] this shift has its own loads and utilization up to now', () => {
    const strip = fleetStrip({
      tiles: [tile('PC-01')],
      facts: facts([...shiftDay(24, 4, 1), ...shiftDay(25, 3, 100)]),
      calendar,
      now: NOW,
      openAlerts: 2,
      usual: null,
    });
    expect(strip.shift).toMatchObject({
      name: 'Early',
      from: day(25, 6),
      to: day(25, 14),
      loads: 3,
      utilization: { value: 0.75, coverage: 1 },
      usual: null,
    });
    expect(strip.openAlerts).toBe(2);
    expect(fleetStripShape.parse(strip)).toEqual(strip);
    expect(fleetStrip({ tiles: [], facts: [], calendar, now: day(25, 20), openAlerts: 0, usual: null }).shift).toBeNull();
  });

  test('[FS5] alarms of the last ten minutes and hour are counted over all chambers, and a flood that still lasts is told', () => {
    const alarm = (secondsAgo: number, chamber: string, seq: number): StoredEvent => ({
      kind: 'alarm',
      chamber,
      at: NOW - secondsAgo * 1000,
      code: 'A',
      text: 'A',
      priority: 'low',
      notice: false,
      change: 'activated',
      counted: true,
      suppressed: false,
      seq,
    });
    const strip = (agos: number[]) =>
      fleetStrip({
        tiles: [],
        facts: fleetFacts({
          chambers: ['PC-01', 'PC-02'],
          events: agos.map((ago, i) => alarm(ago, `PC-0${(i % 2) + 1}`, i + 1)),
          heardUntil: {},
        }),
        calendar,
        now: NOW,
        openAlerts: 0,
        usual: null,
      }).alarms;
    expect(strip([0, 599, 600, 3599, 3600])).toEqual({ last10Min: 2, lastHour: 4, flooded: false });
    const eleven = Array.from({ length: 11 }, (_, i) => 300 + i);
    expect(strip(eleven)).toEqual({ last10Min: 11, lastHour: 11, flooded: true });
    expect(strip(eleven.map((ago) => ago + 600))).toMatchObject({ last10Min: 0, flooded: false });
    // It began 90 minutes ago, and since then six alarms come in ten minutes: never below five, never above ten.
    const slow = Array.from({ length: 54 }, (_, i) => 100 * i + 50);
    expect(strip([...slow, ...eleven.map((ago) => ago + 5100)])).toEqual({ last10Min: 6, lastHour: 36, flooded: true });
    expect(strip(slow)).toMatchObject({ last10Min: 6, flooded: false });
  });

  test('[FS3] over a random fleet the shift numbers are those of the same window', () => {
    const events = randomHistory({ from: day(10), to: day(25, 11), seed: 8 });
    const all = fleetFacts({ chambers: CHAMBERS, events, heardUntil: Object.fromEntries(CHAMBERS.map((chamber) => [chamber, NOW])) });
    const usual = usualShift(earlierShifts(all, calendar, NOW));
    const { shift } = fleetStrip({ tiles: [], facts: all, calendar, now: NOW, openAlerts: 0, usual });
    const seen = previousShifts(calendar, NOW, 10).map(({ from }) => windowNumbers(all, { from, to: from + 4 * HOUR }, calendar).fleet);
    expect(usual?.shifts).toBe(seen.filter(({ operationalUtilization }) => (operationalUtilization.coverage ?? 0) >= 0.95).length);
    expect(Math.abs((shift?.utilization.value as number) - (usual?.utilization as number))).toBeLessThan(0.2);
  });
});
