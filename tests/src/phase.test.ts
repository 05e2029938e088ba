import { expect, test } from 'vitest';
import { runWith, taggedRun, told } from './story.ts';

const NO_PLASMA = ['gas.1.flow 0@0:00', 'gas.2.flow 0@0:00', 'gas.3.flow 0@0:00', 'rf.forward 0@0:00', 'rf.forwardSetPoint 0@0:00'];

test('[PH1] pump-down begins when the valve opens on a running pump behind a shut door', () => {
  expect(told(runWith(), 'phase')).toContain('phase 6:05 pump-down');
  expect(told(runWith('pump.running false@0:00 true@6:30'), 'phase')).toContain('phase 6:30 pump-down');
  expect(told(runWith('chamber.doorClosed true@0:00 false@1:00 true@6:20'), 'phase')).toContain('phase 6:20 pump-down');
});

test('[PH1] nothing is pumped down with the vent valve open, and valves against each other do not set phases going in a circle', () => {
  const lines = told(
    runWith('pump.chamberValveOpen false@0:00 true@6:05 false@31:46 true@33:00', 'vent.valveOpen false@0:00 true@31:50'),
    'phase',
  );
  expect(lines.filter((line) => line.includes('pump-down'))).toEqual(['phase 6:05 pump-down']);
  expect(lines.slice(-3)).toEqual(['phase 33:20 wait-unload', 'phase 35:00 unload', 'phase 39:00 idle']);
});

test('[PH2] gas at low pressure is stabilisation, RF is plasma even without it', () => {
  expect(told(runWith(), 'phase')).toEqual(expect.arrayContaining(['phase 8:26 gas-stabilisation', 'phase 8:46 plasma 1']));
  expect(told(runWith('gas.1.flow 600sccm@0:00'), 'phase')).not.toContain('phase 6:05 gas-stabilisation');
  expect(told(runWith('rf.forward 0@0:00 2800@8:00 0@30:46'), 'phase')).toContain('phase 8:00 plasma 1');
});

test('[PH3] a pause of 19 s stays plasma with the gas off, and the end is dated back to RF off', () => {
  const paused = told(
    runWith('rf.forward 0@0:00 2800@8:46 0@20:00 3600@20:19 0@30:46', 'gas.1.flow 0@0:00 600sccm@8:26 0@20:00 600sccm@20:10 0@30:47'),
    'phase',
  );
  expect(paused.filter((line) => line.includes('purge'))).toEqual(['phase 30:46 purge']);
  expect(paused.filter((line) => line.includes('plasma 1'))).toHaveLength(1);
});

test('[PH3] stopped in a pause whose power was still called for, plasma ends with that call and its step is told', () => {
  const lines = told(
    runWith(
      'rf.forward 0@0:00 2800@8:46 0@12:46',
      'rf.forwardSetPoint 0@0:00 2800@8:45 3600@12:46 0@12:53',
      'gas.1.flow 0@0:00 600sccm@8:26 700sccm@12:47 0@12:53',
      'gas.2.flow 0@0:00',
    ),
    'phase',
  );
  expect(lines).toEqual(expect.arrayContaining(['phase 12:46 plasma 2', 'phase 12:53 purge']));
});

test('[PH3] the pump valve shut or venting ends plasma without waiting', () => {
  expect(told(runWith('pump.chamberValveOpen false@0:00 true@6:05 false@30:55', 'vent.valveOpen false@0:00 true@30:58'), 'phase')).toEqual(
    expect.arrayContaining(['phase 30:46 purge', 'phase 30:55 vent-delay', 'phase 30:58 vent']),
  );
});

test('[PH4] RF off a minute with the gas still on is a hold', () => {
  const lines = told(runWith('rf.forward 0@0:00 2800@8:46 0@15:00 2800@16:10 0@30:46', 'rf.forwardSetPoint'), 'phase');
  expect(lines).toEqual(expect.arrayContaining(['phase 15:00 hold', 'phase 16:10 plasma 2']));
  expect(told(runWith('rf.forward 0@0:00 2800@8:46 0@15:00 2800@15:58 0@30:46'), 'phase').some((line) => line.includes('hold'))).toBe(
    false,
  );
});

test('[PH5] vent delay, vent and waiting begin at the pump valve, the vent valve and the atmosphere switch', () => {
  expect(told(runWith(), 'phase').slice(-5, -2)).toEqual(['phase 31:46 vent-delay', 'phase 31:50 vent', 'phase 33:20 wait-unload']);
});

test('[PH6] shut off at base pressure with nothing flowing for a minute is a leak test', () => {
  const quiet = told(
    runWith(...NO_PLASMA, 'pump.chamberValveOpen false@0:00 true@6:05 false@8:30', 'vent.valveOpen false@0:00 true@13:00'),
    'phase',
  );
  expect(quiet).toContain('phase 8:30 leak-test');
  const short = told(
    runWith(...NO_PLASMA, 'pump.chamberValveOpen false@0:00 true@6:05 false@8:30', 'vent.valveOpen false@0:00 true@9:20'),
    'phase',
  );
  expect(short).not.toContain('phase 8:30 leak-test');
});

test('[PH7] half an hour at base without gas is parked, from base on', () => {
  const lines = told(
    runWith(...NO_PLASMA, 'pump.chamberValveOpen false@0:00 true@6:05', 'vent.valveOpen false@0:00', 'beat 0:00..1:00:00'),
    'phase',
    'state',
  );
  expect(lines).toEqual(expect.arrayContaining(['phase 8:08 parked', 'state 8:08 standby parked under vacuum']));
});

test('[PH8] the door is load before a run, unload after it, and nothing when it only opens and shuts', () => {
  const lines = told(runWith(), 'phase');
  expect(lines.slice(0, 3)).toEqual(['phase 0:00 idle', 'phase 1:00 load', 'phase 6:00 idle']);
  expect(lines.slice(-2)).toEqual(['phase 35:00 unload', 'phase 39:00 idle']);
});

test('[PH9] after a hole the phase is judged from what is seen and what was before', () => {
  expect(told(runWith('silence 8:00..9:00'), 'phase')).toContain('phase 8:59 plasma 1');
  expect(told(runWith('silence 30:50..31:30'), 'phase')).toContain('phase 31:29 purge');
  expect(told(runWith('silence 32:00..34:30'), 'phase')).toContain('phase 34:29 wait-unload');
});

test('[PH10] the pump valve shut on an unfinished run and nothing after it is a hold', () => {
  const lines = told(
    runWith(
      'rf.forward 0@0:00 2800@8:46 0@20:00',
      'gas.1.flow 0@0:00 600sccm@8:26 0@20:00',
      'gas.2.flow',
      'gas.3.flow',
      'rf.forwardSetPoint',
      'pump.chamberValveOpen false@0:00 true@6:05 false@20:00',
      'vent.valveOpen false@0:00',
      'chamber.doorClosed true@0:00',
      'chamber.atmosphereSwitch true@0:00 false@6:12',
    ),
    'phase',
  );
  expect(lines.at(-1)).toBe('phase 20:00 hold');
});

test('[PH10] the pump stopped in the vent delay: a hold from then on', () => {
  const lines = told(
    runWith(
      'beat 0:00..32:30',
      'pump.running true@0:00 false@31:49',
      'vent.valveOpen false@0:00',
      'chamber.doorClosed true@0:00',
      'chamber.atmosphereSwitch true@0:00 false@6:12',
    ),
    'phase',
  );
  expect(lines.slice(-3)).toEqual(['phase 30:46 purge', 'phase 31:46 vent-delay', 'phase 31:49 hold']);
});

test('[PH11] tag and signals tell the same story within 2 s; where there is a tag, it labels', () => {
  const seconds = (line: string): number =>
    line
      .split(' ')[1]!
      .split(':')
      .reduce((sum, part) => 60 * sum + Number(part), 0);
  const [byTag, bySignals] = [told(taggedRun(), 'phase'), told(runWith(), 'phase')];
  expect(byTag.map((line) => line.replace(/\d+:\d+ /, ''))).toEqual(bySignals.map((line) => line.replace(/\d+:\d+ /, '')));
  byTag.forEach((line, i) => expect(Math.abs(seconds(line) - seconds(bySignals[i]!))).toBeLessThanOrEqual(2));
  expect(byTag).toContain('phase 8:45 plasma 1');
});
