import { expect, test } from 'vitest';
import type { OpenRun } from '../../src/chamber-state.ts';
import type { RunEnded } from '../../src/event.ts';
import { outcomeOf } from '../../src/run.ts';
import { eventsOf, runWith, stateAfter, taggedRun, told } from './story.ts';
import { openRunExample } from './examples.ts';

const ended = (text: string): RunEnded => eventsOf(text).find((event) => event.kind === 'run-ended') as RunEnded;
const ABORTED = [
  'rf.forward 0@0:00 2800@8:46 3600@12:46 0@20:00',
  'gas.1.flow 0@0:00 600sccm@8:26 0@20:01',
  'gas.2.flow 0@0:00 150sccm@12:47 0@20:01',
];

test('[RN1] a run begins with pump-down in automatic mode only, and its id names chamber and start', () => {
  expect(eventsOf(runWith()).find((event) => event.kind === 'run-started')).toMatchObject({
    run: 'PC-01/2026-11-25T06:06:05.000Z',
    recipe: 'DSM-PI-25',
    load: 'QM-26-04117-A',
    source: 'signal',
  });
  expect(told(runWith('sequence.mode manual@0:00'), 'started', 'run')).toEqual([]);
});

test('[RN2] a run ends at atmosphere, and pumping down anew without venting is a second attempt', () => {
  expect(told(runWith(), 'run')).toEqual(['run 6:05..33:20 completed']);
  const again = told(
    runWith(
      'pump.chamberValveOpen false@0:00 true@6:05 false@31:46 true@31:55 false@33:00',
      'vent.valveOpen false@0:00 true@33:10 false@33:20',
    ),
    'run',
  );
  expect(again).toEqual(['run 6:05..31:55 completed', 'run 31:55..33:20 aborted']);
});

test('[RN2] Sunday midnight does not cut a run', () => {
  expect(told(runWith().replace('2026-11-25T06:00', '2026-11-29T22:45'), 'run')).toEqual(['run 6:05..33:20 completed']);
});

const run = (more: Partial<OpenRun>, ...plasmaS: number[]): OpenRun =>
  openRunExample({
    phases: plasmaS.map((seconds, i) => ({ phase: 'plasma', step: i + 1, from: 0, to: seconds * 1000, source: 'tag' })),
    ...more,
  });

test('[RN3] completed means every step ran 98 % of its time by the tags, else 97 % of the usual plasma', () => {
  const tags = { stepCount: 2, stepDurationMs: 1_000_000 };
  expect(outcomeOf(run(tags, 240, 985), null)).toBe('completed');
  expect(outcomeOf(run(tags, 240, 970), null)).toBe('aborted');
  expect(outcomeOf(run(tags, 240), null)).toBe('aborted');
  expect(outcomeOf(run({}, 240, 1000), 1_240_000)).toBe('completed');
  expect(outcomeOf(run({}, 240, 900), 1_240_000)).toBe('aborted');
  expect(outcomeOf(run({}), null)).toBe('aborted');
  expect(outcomeOf(run({ stopped: true }, 240), null)).toBe('aborted');
});

test('[RN3] aborted in the first seconds of the last step, with the step tags back at zero, is aborted', () => {
  const text = taggedRun('rf.forward 0@0:00 2800@8:46 0@12:48', 'rf.forwardSetPoint 0@0:00 2800@8:45 3600@12:46 0@12:48')
    .replace('40@30:46 50@31:46 60@31:50', '40@12:48 50@31:46 60@31:50')
    .replace('2@12:46 0@30:46', '2@12:46 0@12:48')
    .replace('1080@12:46 0@30:46', '1080@12:46 0@12:48');
  expect(ended(text).outcome).toBe('aborted');
});

test('[RN4] interrupted and not fully observed go before what the steps say', () => {
  expect(outcomeOf(run({ interrupted: true, blind: true }, 240), null)).toBe('interrupted');
  expect(outcomeOf(run({ blind: true }, 240), null)).toBe('not-fully-observed');
  expect(ended(runWith('silence 30:00..32:30')).outcome).toBe('not-fully-observed');
  expect(ended(runWith(...ABORTED, 'alarm.NO_IGNITION false@0:00 true@20:00')).outcome).toBe('aborted');
});

test('[RN5] the stretches follow one another from start to end', () => {
  const { phases, startedAt, at } = ended(runWith());
  expect(phases[0]?.from).toBe(startedAt);
  expect(phases.at(-1)?.to).toBe(at);
  phases.slice(1).forEach((span, i) => expect(span.from).toBe(phases[i]?.to));
  expect(phases.map(({ phase }) => phase)).toEqual(['pump-down', 'gas-stabilisation', 'plasma', 'plasma', 'purge', 'vent-delay', 'vent']);
});

test('[RN5] a run of more stretches than are kept is judged on all of them', () => {
  // A controller that goes back and forth between gas and purge makes 240 stretches before the plasma burns.
  const flicker = Array.from({ length: 120 }, (_, i) => [`20@${clock(526 + 10 * i)}`, `40@${clock(531 + 10 * i)}`]).flat();
  const codes = `sequence.phaseCode 0@0:00 5@1:00 0@6:00 10@6:05 ${flicker.join(' ')} 30@28:46 40@30:46 50@31:46 60@31:50 70@33:20`;
  const steps = ['recipe.step 0@0:00 1@8:45 2@28:46 0@30:46', 'recipe.stepDuration 0@0:00 1080@8:45 120@28:46 0@30:46'];
  const run = ended(taggedRun(...steps).replace(/^sequence.phaseCode .*$/m, codes));
  expect([run.phases.length, run.outcome]).toEqual([200, 'completed']);
});

const clock = (seconds: number): string => `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;

test('[RN6] observed time is the length less the holes inside, exactly', () => {
  const { startedAt, at, observedMs, holes } = ended(runWith('silence 20:00..23:00'));
  expect(at - startedAt - observedMs).toBe(179_000);
  expect(holes).toEqual([{ from: Date.parse('2026-11-25T06:20:00Z'), to: Date.parse('2026-11-25T06:22:59Z') }]);
  const bridged = ended(runWith('silence 20:00..20:09'));
  expect([bridged.observedMs, bridged.holes]).toEqual([ended(runWith()).observedMs, []]);
});

test('[RN7] the door closed before the run belongs to it, and to no second one', () => {
  const story = runWith();
  expect(ended(story).doorClosedAt).toBe(Date.parse('2026-11-25T06:06:00Z'));
  const again = eventsOf(
    runWith('pump.chamberValveOpen false@0:00 true@6:05 false@31:46 true@31:55 false@33:00', 'vent.valveOpen false@0:00 true@33:10'),
  );
  expect(again.flatMap((event) => (event.kind === 'run-ended' ? [event.doorClosedAt === null] : []))).toEqual([false, true]);
  expect(stateAfter(story).doorClosedAt).toBe(Date.parse('2026-11-25T06:39:00Z'));
  expect(ended(runWith('chamber.doorClosed true@0:00')).doorClosedAt).toBeNull();
});
