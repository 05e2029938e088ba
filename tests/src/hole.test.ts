import { expect, test } from 'vitest';
import { rulesBySignals as rules } from '../scenarios/scenario-rules.ts';
import { eventId } from '../../src/event.ts';
import { fleetFacts } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';
import { observeAll, reading, runWith, told } from './story.ts';

const T = Date.parse('2026-11-25T06:00:00Z');
const at = (seconds: number): number => T + seconds * 1000;
const seen = [
  reading('link.alive', true, T),
  reading('chamber.doorClosed', true, T),
  reading('chamber.atmosphereSwitch', true, T),
  reading('utility.waterFlow', 1, at(5)),
];
const statesOf = (...more: ReturnType<typeof reading>[]): readonly string[] =>
  observeAll(rules, [...seen, ...more]).events.flatMap((event) =>
    event.kind === 'equipment-state' ? [`${(event.at - T) / 1000} ${event.state}`] : [],
  );

test('[HO1] silence begins at the time last heard, or at the last change of a frozen heartbeat', () => {
  expect(statesOf(reading('link.alive', false, at(20)))).toEqual(['0 standby', '20 unobserved']);
  const beats = [6, 7, 8, 9].map((s) => reading('controller.heartbeat', s, at(s)));
  const others = [12, 16, 20, 24, 30].map((s) => reading('utility.waterFlow', s, at(s)));
  expect(statesOf(...beats, ...others)).toEqual(['0 standby', '9 unobserved']);
  expect(statesOf(...beats, ...others, reading('controller.heartbeat', 10, at(40)), reading('utility.waterFlow', 1, at(45)))).toEqual([
    '0 standby',
    '9 unobserved',
    '40 standby',
  ]);
});

test('[HO1] a heartbeat that never changed, or beats slowly, is not frozen', () => {
  expect(statesOf(reading('controller.heartbeat', 1, at(6)), reading('utility.waterFlow', 2, at(90)))).toEqual(['0 standby']);
  const slow = [60, 120, 180].map((s) => reading('controller.heartbeat', s, at(s)));
  expect(statesOf(...slow, reading('utility.waterFlow', 2, at(300)))).toEqual(['0 standby']);
});

test('[HO2] ten seconds are bridged, eleven are unobserved', () => {
  const back = (s: number) => [
    reading('utility.waterFlow', 2, at(s)),
    reading('link.alive', true, at(s)),
    reading('utility.waterFlow', 3, at(s + 5)),
  ];
  expect(statesOf(reading('link.alive', false, at(20)), ...back(30))).toEqual(['0 standby', '20 unobserved', '20 standby']);
  expect(statesOf(reading('link.alive', false, at(20)), ...back(31))).toEqual(['0 standby', '20 unobserved', '31 standby']);
});

test('[HO2] a backlog that goes on where the word broke off invents no hole', () => {
  const backlog = Array.from({ length: 60 }, (_, i) => reading('utility.waterFlow', i, at(21 + i)));
  expect(statesOf(reading('link.alive', false, at(20)), ...backlog, reading('link.alive', true, at(81)))).toEqual([
    '0 standby',
    '20 unobserved',
    '20 standby',
  ]);
});

test('[HO2] values that come late but complete, as the link says first, leave no hole', () => {
  const late = { receivedAt: at(90) };
  const backlog = Array.from({ length: 60 }, (_, i) => reading('utility.waterFlow', i, at(21 + i), late));
  const door = reading('chamber.doorClosed', false, at(40.5), late);
  const lines = statesOf(
    reading('link.alive', false, at(20)),
    reading('link.alive', true, at(20), late),
    ...[...backlog, door].sort((a, b) => a.at - b.at),
    reading('link.alive', true, at(90)),
  );
  expect(lines).toEqual(['0 standby', '20 unobserved', '20 standby', '40.5 productive']);
});

test('[HO3] what is told anew after a silence, measured before it, does not hide what was read back of it', () => {
  const anew = reading('pump.running', true, at(3), { receivedAt: at(82) });
  const kept = Array.from({ length: 60 }, (_, i) => reading('utility.waterFlow', i, at(21 + i), { timeOrigin: 'archive' }));
  const lines = statesOf(reading('link.alive', false, at(20)), anew, ...kept, reading('link.alive', true, at(82)));
  expect(lines).toEqual(['0 standby', '20 unobserved', '20 standby']);
});

test('[HO3] one old value inside a silence does not fill it', () => {
  const lines = statesOf(
    reading('link.alive', false, at(20)),
    reading('pump.running', true, at(28)),
    reading('utility.waterFlow', 2, at(80)),
    reading('link.alive', true, at(80)),
    reading('utility.waterFlow', 3, at(90)),
  );
  expect(lines).toEqual(['0 standby', '20 unobserved', '20 standby', '28 unobserved', '80 standby']);
});

test('[HO3] values stamped all through a silence and received after it do not fill it', () => {
  const stamped = [28, 36, 44, 52, 60, 68, 76].map((s) => reading('utility.waterFlow', s, at(s), { receivedAt: at(80) }));
  const lines = statesOf(
    reading('link.alive', false, at(20)),
    ...stamped,
    reading('link.alive', true, at(80)),
    reading('utility.waterFlow', 3, at(90)),
  );
  expect(lines).toEqual(['0 standby', '20 unobserved', '80 standby']);
});

test('[HO4] values that come in late are waited for, the phase is dated back to the first word', () => {
  const lines = statesOf(
    reading('link.alive', false, at(20)),
    reading('utility.waterFlow', 2, at(100)),
    reading('link.alive', true, at(100)),
    reading('chamber.doorClosed', false, at(101)),
    reading('utility.waterFlow', 3, at(110)),
  );
  expect(lines).toEqual(['0 standby', '20 unobserved', '100 productive']);
});

test('[HO5] the same run goes on after a hole; another load or a step back in the sequence is another run', () => {
  expect(told(runWith('silence 20:00..23:00'), 'run')).toEqual(['run 6:05..33:20 completed observed 24:16']);
  expect(told(runWith('silence 20:00..23:00', 'load.id QM-1@0:00 QM-2@21:00'), 'run').map((line) => line.split(' ')[2])).toEqual([
    'not-fully-observed',
    'not-fully-observed',
  ]);
});

test('[HO6] a first word hours old claims no hours', () => {
  const old = reading('chamber.doorClosed', true, at(-7200), { receivedAt: T });
  const events = observeAll(rules, [old, ...seen]).events;
  expect(Math.min(...events.map((event) => event.at))).toBe(T);
});

test('[HO2] through a bridged hole the state goes on since it really began; after a longer one it is known since its end', () => {
  const back = (s: number) => [
    reading('utility.waterFlow', 2, at(s)),
    reading('link.alive', true, at(s)),
    reading('utility.waterFlow', 3, at(s + 20)),
  ];
  const since = (...more: ReturnType<typeof reading>[]): number =>
    (observeAll(rules, [...seen, ...more]).state.equipment.heldSince - T) / 1000;
  expect(since(reading('link.alive', false, at(20)), ...back(29))).toBe(0);
  expect(since(reading('link.alive', false, at(20)), ...back(29), reading('link.alive', false, at(60)), ...back(65))).toBe(0);
  expect(since(reading('link.alive', false, at(20)), ...back(31))).toBe(31);
});

test('[HO2] bridged holes cost no time in the books, and a hole at the same instant is a fact of its own', () => {
  const beats = [6, 7, 8, 9, 10].map((s) => reading('controller.heartbeat', s, at(s)));
  const { events } = observeAll(rules, [
    ...seen,
    ...beats,
    reading('link.alive', false, at(10)),
    reading('utility.waterFlow', 2, at(15)),
    reading('link.alive', true, at(15)),
    ...[20, 30, 40].map((s) => reading('utility.waterFlow', s, at(s))),
    reading('controller.heartbeat', 11, at(50)),
    ...[54, 60].map((s) => reading('utility.waterFlow', s, at(s))),
  ]);
  const ids = events.map(eventId);
  expect(new Set(ids).size).toBe(ids.length);
  const stored = events.map((event, seq) => ({ ...event, seq }));
  const [facts] = fleetFacts({ chambers: ['PC-01'], events: stored, heardUntil: { 'PC-01': at(60) } });
  const intervals = facts ? stateIntervals(facts, { from: T, to: at(60) }, []) : [];
  const ms = (state: string) => intervals.filter((each) => each.state === state).reduce((sum, each) => sum + each.to - each.from, 0);
  // Bridged 10 s to 15 s; the heartbeat stood from 10 s to 50 s.
  expect([ms('standby'), ms('unobserved')]).toEqual([20_001, 39_999]);
});
