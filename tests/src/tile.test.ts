import { expect, test } from 'vitest';
import { chamberTile as tileShape } from '../../src/contract.ts';
import type { ChamberTile } from '../../src/contract.ts';
import type { ReasonEvent } from '../../src/event.ts';
import { chamberTile } from '../../src/tile.ts';
import { rulesBySignals as rules } from '../scenarios/scenario-rules.ts';
import { observeAll, readingsOfStory, runWith } from './story.ts';

const START = Date.parse('2026-11-25T06:00:00Z');

const tileAt = (minutes: number, scheduledNow = true, ...lines: string[]): ChamberTile => tileTold(null, minutes, scheduledNow, ...lines);

function tileTold(told: ReasonEvent | null, minutes: number, scheduledNow = true, ...lines: string[]): ChamberTile {
  const now = START + minutes * 60_000;
  const { state } = observeAll(
    rules,
    readingsOfStory(runWith(...lines)).filter((each) => each.at <= now),
  );
  const place = { name: 'Chamber 1', bay: 'Birch', floor: { column: 1, row: 1 } };
  return tileShape.parse(chamberTile({ rules, state, place, scheduledNow, now, told, link: 'live', skewMs: null }));
}

test('[TL1] nonscheduled shows where nothing runs and the chamber is observed, and nowhere else', () => {
  expect(tileAt(0.5, false)).toMatchObject({ state: 'nonscheduled', reason: 'no shift planned', need: null });
  expect(tileAt(0.5).state).toBe('standby');
  expect(tileAt(15, false)).toMatchObject({ state: 'productive', reason: 'run', recipe: 'DSM-PI-25', phase: 'plasma', step: 2 });
  expect(tileAt(25, false, 'silence 20:00..45:00').state).toBe('unobserved');
});

test('[TL2] who is needed, most urgent first', () => {
  expect(tileAt(0.5).need).toBe('load');
  expect(tileAt(15).need).toBeNull();
  expect(tileAt(34)).toMatchObject({ need: 'unload', waitingSince: START + 2_000_000 });
  expect(tileAt(15, true, 'rf.forward 0@0:00 2800@8:46 0@13:00').need).toBe('attend');
  expect(tileAt(0.5, true, 'alarm.NO_IGNITION false@0:00 true@0:10').need).toBe('attend');
  expect(tileAt(34, true, 'alarm.RF_FAULT false@0:00 true@20:00').need).toBe('call-maintenance');
});

test('[TL3] nobody is called to a chamber that is unobserved or that maintenance has', () => {
  expect(tileAt(37, true, 'alarm.RF_FAULT false@0:00 true@20:00', 'sequence.mode auto@0:00 maintenance@36:00').need).toBeNull();
  expect(tileAt(35.5, true, 'silence 34:00..45:00')).toMatchObject({ need: null, waitingSince: null });
});

const TELLING: Omit<ReasonEvent, 'state' | 'reason'> = {
  kind: 'reason',
  chamber: 'PC-01',
  entry: 'e1',
  at: START + 60_000,
  to: null,
  note: '',
  by: 'A. Person',
  enteredAt: START + 120_000,
  downtime: null,
  workedOn: [],
};

test('[TL7] what a person told shows with what is observed beside it, and calls nobody to a downtime', () => {
  const trip = ['alarm.RF_FAULT false@0:00 true@20:00'];
  const repair = { ...TELLING, state: 'unscheduled-downtime', reason: 'repair' } as const;
  expect(tileTold(repair, 34, true, ...trip)).toMatchObject({
    state: 'unscheduled-downtime',
    reason: 'repair',
    stateSince: START + 60_000,
    told: { entry: 'e1', by: 'A. Person', observed: { state: 'unscheduled-downtime', reason: 'tripped: RF generator fault' } },
    need: null,
  });
  expect(tileTold(null, 34, true, ...trip)).toMatchObject({ told: null, need: 'call-maintenance' });
  const trial = { ...TELLING, state: 'engineering', reason: 'trial' } as const;
  expect(tileTold(trial, 0.5)).toMatchObject({ state: 'engineering', need: null, told: { observed: { state: 'standby' } } });
});

test('[TL7] the unobserved and nonscheduled time stay what they are, whatever was told', () => {
  const repair = { ...TELLING, state: 'unscheduled-downtime', reason: 'repair' } as const;
  expect(tileTold(repair, 25, true, 'silence 20:00..45:00')).toMatchObject({ state: 'unobserved', told: null });
  expect(tileTold(repair, 0.5, false)).toMatchObject({ state: 'nonscheduled', told: null });
});

test('[TL4] the worst alarm is the highest, notices last, the oldest of equals', () => {
  const tile = tileAt(
    15,
    true,
    'alarm.RF_REFL_HIGH false@0:00 true@9:00',
    'alarm.NO_IGNITION false@0:00 true@14:00',
    'alarm.PUMP_FAULT false@0:00 true@13:00',
    'alarm.WAITING false@0:00 true@8:00',
  );
  expect(tile.alarms).toMatchObject({ standing: 3, worst: { code: 'PUMP_FAULT', since: START + 13 * 60_000 } });
  expect(tileAt(15, true, 'alarm.WAITING false@0:00 true@8:00').alarms).toMatchObject({
    standing: 0,
    worst: { code: 'WAITING', notice: true },
  });
});

test('[TL4] a shelved alarm neither shows nor calls anybody', () => {
  const shelved = ['alarm.NO_IGNITION false@0:00 true@0:10', 'alarm-suppressed.NO_IGNITION false@0:00 true@0:10'];
  expect(tileAt(0.5, true, ...shelved)).toMatchObject({ alarms: { standing: 0, worst: null }, need: 'load' });
});

test('[TL5] the time in a state runs through a short hole, and a chamber never heard has been in none', () => {
  expect(tileAt(25, true, 'silence 20:00..20:08').stateSince).toBe(START + 365_000);
  // The heartbeat of 21:59 is the first word after the hole.
  expect(tileAt(25, true, 'silence 20:00..22:00').stateSince).toBe(START + 22 * 60_000 - 1_000);
  const never = tileAt(-1);
  expect([never.state, never.heardAt, never.stateSince, never.phaseSince]).toEqual(['unobserved', null, START - 60_000, START - 60_000]);
});

test('[TL5] [ES9] a downtime counts from its begin, also when maintenance takes it over and hands it back', () => {
  const trip = ['alarm.RF_FAULT false@0:00 true@20:00', 'sequence.mode auto@0:00 maintenance@26:00 auto@32:00'];
  const began = { state: 'unscheduled-downtime', stateSince: START + 20 * 60_000 };
  expect(tileAt(25, true, ...trip)).toMatchObject({ ...began, reason: 'tripped: RF generator fault' });
  expect(tileAt(30, true, ...trip)).toMatchObject({ ...began, reason: 'repair: RF generator fault' });
  expect(tileAt(33, true, ...trip)).toMatchObject({ ...began, reason: 'tripped: RF generator fault' });
});

test('[TL6] waiting to be unloaded it shows the last run whole, and no longer once it is opened', () => {
  const waiting = tileAt(34);
  expect(waiting).toMatchObject({
    phase: 'wait-unload',
    recipe: 'DSM-PI-25',
    run: { recipe: 'DSM-PI-25', load: 'QM-26-04117-A', finish: null },
  });
  const { stretches = [], startedAt = 0 } = waiting.run ?? {};
  expect([stretches[0]?.from, stretches.at(-1)?.to]).toEqual([startedAt, START + 2_000_000]);
  expect(stretches.map(({ phase }) => phase)).toEqual([
    'pump-down',
    'gas-stabilisation',
    'plasma',
    'plasma',
    'purge',
    'vent-delay',
    'vent',
  ]);
  expect(stretches.some(({ expected }) => expected)).toBe(false);
  expect(tileAt(34, true, 'recipe.name DSM-PI-25@0:00 ETB-RF-43@33:30').recipe).toBe('DSM-PI-25');
  expect(tileAt(36).run).toBeNull();
});
