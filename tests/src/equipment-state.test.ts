import { expect, test } from 'vitest';
import type { EventOf } from '../../src/event.ts';
import { eventsOf, runWith, told } from './story.ts';

const STOPPED = [
  'rf.forward 0@0:00 2800@8:46 3600@12:46 0@20:00',
  'gas.1.flow 0@0:00 600sccm@8:26 0@20:01',
  'gas.2.flow 0@0:00 150sccm@12:47 0@20:01',
  'gas.3.flow 0@0:00 500sccm@20:31 0@21:01',
  'pump.chamberValveOpen false@0:00 true@6:05 false@21:01',
  'vent.valveOpen false@0:00 true@21:05 false@22:35',
  'chamber.atmosphereSwitch true@0:00 false@6:12 true@22:35',
];
const states = (...lines: string[]): readonly string[] => told(runWith(...lines), 'state').slice(3);

test('[ES1] nobody knows goes before everything', () => {
  expect(states('silence 20:00..23:00')).toEqual(expect.arrayContaining(['state 20:00 unobserved no data', 'state 22:59 productive run']));
});

test('[ES2] down from the alarm until it is gone and maintenance handed the chamber back', () => {
  const lines = states(
    ...STOPPED,
    'alarm.RF_FAULT false@0:00 true@20:00 false@30:00',
    'sequence.mode auto@0:00 maintenance@24:00 auto@36:00',
  );
  expect(lines).toEqual([
    'state 6:05 productive run',
    'state 20:00 unscheduled-downtime tripped: RF generator fault',
    'state 22:35 unscheduled-downtime tripped: RF generator fault',
    'state 24:00 unscheduled-downtime repair: RF generator fault',
    'state 36:00 productive load or unload',
    'state 39:00 standby idle',
  ]);
});

test('[ES2] gone without maintenance, the chamber is down until a new run starts', () => {
  const lines = told(
    runWith(
      ...STOPPED,
      'pump.chamberValveOpen false@0:00 true@6:05 false@21:01 true@39:30',
      'alarm.RF_FAULT false@0:00 true@20:00 false@24:00',
      'beat 0:00..40:00',
    ),
    'state',
  );
  expect(lines.slice(-2)).toEqual(['state 22:35 unscheduled-downtime tripped: RF generator fault', 'state 39:30 productive run']);
});

test('[ES2] handed back with the alarm still standing, it is over when the alarm clears', () => {
  const lines = states(
    ...STOPPED,
    'alarm.RF_FAULT false@0:00 true@20:00 false@36:05',
    'sequence.mode auto@0:00 maintenance@24:00 auto@36:00',
  );
  expect(lines.slice(-2)).toEqual(['state 36:05 productive load or unload', 'state 39:00 standby idle']);
});

test('[ES3] an alarm that stops the run holds until it is gone and the door was opened', () => {
  expect(states(...STOPPED, 'alarm.NO_IGNITION false@0:00 true@20:00 false@21:00')).toEqual([
    'state 6:05 productive run',
    'state 20:00 unscheduled-downtime stopped: Plasma did not light',
    'state 22:35 unscheduled-downtime stopped: Plasma did not light',
    'state 35:00 productive load or unload',
    'state 39:00 standby idle',
  ]);
});

test('[ES3] an alarm in a pause that still calls for power stops the run', () => {
  const lines = states(
    'rf.forward 0@0:00 2800@8:46 0@12:46',
    'rf.forwardSetPoint 0@0:00 2800@8:45 3600@12:46 0@12:53',
    'gas.1.flow 0@0:00 600sccm@8:26 700sccm@12:47 0@12:53',
    'gas.2.flow 0@0:00',
    'alarm.NO_IGNITION false@0:00 true@12:52',
  );
  expect(lines).toContain('state 12:52 unscheduled-downtime stopped: Plasma did not light');
});

test('[ES3] an alarm after plasma was over stops nothing', () => {
  expect(states('alarm.NO_IGNITION false@0:00 true@31:00 false@31:30')[1]).toBe('state 33:20 standby waiting for unload');
});

test('[ES4] maintenance on a sound chamber is scheduled downtime, manual work is engineering', () => {
  expect(states('sequence.mode auto@0:00 maintenance@34:00 auto@38:00')).toEqual(
    expect.arrayContaining(['state 34:00 scheduled-downtime maintenance', 'state 38:00 productive load or unload']),
  );
  expect(told(runWith('sequence.mode manual@0:00'), 'state')).toEqual(['state 0:00 engineering manual mode']);
});

test('[ES5] a run is productive, one of an engineering recipe engineering', () => {
  expect(states()[0]).toBe('state 6:05 productive run');
  expect(states('recipe.name CND-15@0:00')[0]).toBe('state 6:05 engineering engineering run');
});

test('[ES6] the open door is handling for thirty minutes and standby afterwards', () => {
  expect(told(runWith('beat 0:00..1:20:00', 'chamber.doorClosed true@0:00 false@1:00 true@6:00 false@35:00'), 'state').slice(-2)).toEqual([
    'state 35:00 productive load or unload',
    'state 1:05:00 standby door open',
  ]);
});

test('[ES7] all else is standby, by what it waits for', () => {
  expect(told(runWith(), 'state')).toEqual(
    expect.arrayContaining(['state 0:00 standby idle', 'state 33:20 standby waiting for unload', 'state 39:00 standby idle']),
  );
});

test('[ES8] states begin one after another, and anew when a run begins or ends', () => {
  const said = eventsOf(runWith(...STOPPED, 'alarm.RF_FAULT false@0:00 true@20:00')).filter(
    (event): event is EventOf<'equipment-state'> => event.kind === 'equipment-state',
  );
  said.slice(1).forEach((event, i) => expect(event.at).toBeGreaterThanOrEqual(said[i]!.at));
  expect(said.slice(-2).map(({ run }) => run)).toEqual(['PC-01/2026-11-25T06:06:05.000Z', null]);
});

// OPC 40001-1 annex C, example interpretation of SEMI E10 (seen): OutOfService + Processing = UDT; the mode goes before it.
test('[ES10] out of service, as the machine says itself, is unscheduled downtime unless its mode says maintenance', () => {
  const item = 'machine.itemState executing@0:00 out-of-service@20:00 executing@24:00';
  expect(states(item).filter((line) => /2[0-9]:/.test(line))).toEqual([
    'state 20:00 unscheduled-downtime out of service, says the machine',
    'state 24:00 productive run',
  ]);
  const inService = states(item, 'sequence.mode auto@0:00 maintenance@22:00 auto@23:00').filter((line) => /2[0-9]:/.test(line));
  expect(inService).toEqual([
    'state 20:00 unscheduled-downtime out of service, says the machine',
    'state 22:00 scheduled-downtime maintenance',
    'state 23:00 unscheduled-downtime out of service, says the machine',
    'state 24:00 productive run',
  ]);
});

const ALONE = 'start 2026-11-25T06:00:00Z\nbeat 0:00..40:00\n';
const item = (...words: readonly string[]): readonly string[] =>
  eventsOf(`${ALONE}machine.itemState ${words.join(' ')}`).flatMap((event) =>
    event.kind === 'equipment-state'
      ? [`${(event.at - Date.parse('2026-11-25T06:00:00Z')) / 60_000} ${event.state} ${event.reason} ${event.source}`]
      : [],
  );

test('[ES11] [IN6] executing is productive for a machine that tells nothing else, and makes no run', () => {
  const line = ['not-executing@0:00', 'executing@5:00', 'not-executing@9:00'];
  expect(item(...line).slice(1)).toEqual(['5 productive executing, says the machine tag', expect.stringMatching(/^9 standby idle/)]);
  expect(eventsOf(`${ALONE}machine.itemState ${line.join(' ')}`).some(({ kind }) => kind === 'run-started')).toBe(false);
});

test('[ES11] [IN6] a chamber whose signals tell what it does is not productive because it says that it executes', () => {
  expect(states('machine.itemState executing@0:00')).toEqual(states());
});

test('[IN6] a machine that tells nothing but its item state is unobserved while that is bad', () => {
  const lines = item('executing@0:00', 'bad@5:00', 'executing@8:00');
  expect(lines.find((line) => line.startsWith('5 '))).toMatch(/^5 unobserved/);
  expect(lines.at(-1)).toMatch(/^8(\.\d+)? productive executing/);
});

test('[ES12] not available is standby, with what the machine said', () => {
  expect(item('not-executing@0:00', 'not-available@5:00').at(-1)).toBe('5 standby not available, says the machine tag');
});
