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
