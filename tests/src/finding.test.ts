import { expect, test } from 'vitest';
import { runWith, told } from './story.ts';

const VENT_EARLY = [
  'pump.chamberValveOpen false@0:00 true@6:05 false@30:56',
  'vent.valveOpen false@0:00 true@31:00 false@33:20',
  'gas.3.flow 0@0:00',
];

test('[FN1] vented nine seconds after CF4 is found once; without CF4 it is not', () => {
  expect(told(runWith(...VENT_EARLY), 'finding')).toEqual(['finding 31:00 purge-short']);
  expect(told(runWith(...VENT_EARLY, 'gas.2.flow 0@0:00'), 'finding')).toEqual([]);
  expect(told(runWith(), 'finding')).toEqual([]);
});

test('[FN1] a chamber whose vent valve nobody reads is told as it reaches atmosphere, or as its door opens', () => {
  const unread = [...VENT_EARLY, 'vent.valveOpen'].filter((line) => !line.startsWith('vent.valveOpen '));
  expect(told(runWith(...unread), 'finding')).toEqual(['finding 33:20 purge-short']);
  const blind = [...unread, 'chamber.atmosphereSwitch', 'chamber.pressure'];
  expect(told(runWith(...blind), 'finding')).toEqual(['finding 35:00 purge-short']);
});

test('[FN1] where nobody reads the pump valve, nothing but the time since the gas speaks against the purge', () => {
  const unread = ['pump.running', 'pump.chamberValveOpen'];
  expect(told(runWith(...unread, 'vent.valveOpen false@0:00 true@32:30 false@33:20'), 'finding')).toEqual([]);
  expect(told(runWith(...unread, 'vent.valveOpen false@0:00 true@31:00 false@33:20'), 'finding')).toEqual(['finding 31:00 purge-short']);
});

test('[FN1] gas that ended where nobody listened may have ended at once: only what was too short for sure is told', () => {
  const ventAt = (at: string, shut: string): string[] => [
    `pump.chamberValveOpen false@0:00 true@6:05 false@${shut}`,
    `vent.valveOpen false@0:00 true@${at} false@33:20`,
    'gas.3.flow 0@0:00',
  ];
  expect(told(runWith(...ventAt('31:50', '31:46'), 'silence 30:00..31:30'), 'finding')).toEqual([]);
  expect(told(runWith(...ventAt('30:58', '30:56'), 'silence 30:40..30:52'), 'finding')).toEqual(['finding 30:58 purge-short']);
});

test('[FN1] a chamber vented where nobody listened is not told when its door opens', () => {
  const found = told(
    runWith('pump.chamberValveOpen false@0:00 true@6:05 false@31:46', 'gas.3.flow 0@0:00', 'silence 30:00..34:00'),
    'finding',
  );
  expect(found).toEqual([]);
});

test('[FN2] vent valve and pump valve open together are found', () => {
  expect(told(runWith('pump.chamberValveOpen false@0:00 true@6:05 false@31:55'), 'finding')).toEqual([
    'finding 31:50 vent-with-pump-valve-open',
  ]);
});

test('[FN3] gas with an open door is found, a chattering contact under vacuum is not', () => {
  expect(told(runWith('gas.1.flow 0@0:00 200sccm@3:00 0@3:30'), 'finding')).toContain('finding 3:00 gas-with-door-open');
  expect(told(runWith('chamber.doorClosed true@0:00 false@1:00 true@6:00 false@15:00 true@15:04'), 'finding')).toEqual([]);
});
