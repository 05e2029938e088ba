import { expect, test } from 'vitest';
import { initialChamber, observe } from '../../src/chamber.ts';
import type { ChamberState } from '../../src/chamber.ts';
import { admit, initialOrdering } from '../../src/ordering.ts';
import type { Reading } from '../../src/reading.ts';
import { rulesBySignals as rules } from '../scenarios/scenario-rules.ts';
import { observeAll, reading } from './story.ts';

const T = Date.parse('2026-11-25T06:00:00Z');
const at = (seconds: number): number => T + seconds * 1000;
const seen = [
  reading('link.alive', true, T),
  reading('chamber.doorClosed', true, T),
  reading('chamber.atmosphereSwitch', true, T),
  reading('pump.chamberValveOpen', false, T),
  reading('recipe.name', 'DSM-PI-25', T),
  reading('utility.waterFlow', 1, at(5)),
];
const water = (...seconds: number[]): Reading[] => seconds.map((s) => reading('utility.waterFlow', s, at(s)));
const bad = (signal: string, s: number, quality: 'bad' | 'uncertain' = 'bad'): Reading =>
  reading(signal, quality === 'bad' ? null : true, at(s), { quality });
const statesOf = (...more: Reading[]): readonly string[] =>
  observeAll(rules, [...seen, ...more]).events.flatMap((event) =>
    event.kind === 'equipment-state' ? [`${(event.at - T) / 1000} ${event.state}`] : [],
  );
const allBad = (s: number): Reading[] =>
  ['chamber.doorClosed', 'chamber.atmosphereSwitch', 'pump.chamberValveOpen'].map((name, i) => bad(name, s + i));

test('[SG1] when the last telling signal went bad nobody knows, until one is good again', () => {
  expect(statesOf(...allBad(20), ...water(25, 60, 90))).toEqual(['0 standby', '22 unobserved']);
  expect(statesOf(...allBad(20), ...water(60), reading('pump.chamberValveOpen', false, at(80)), ...water(85))).toEqual([
    '0 standby',
    '22 unobserved',
    '80 standby',
  ]);
});

test('[SG1] one good signal among bad ones is still sight; a last usable value is none', () => {
  expect(statesOf(bad('chamber.doorClosed', 20), bad('pump.chamberValveOpen', 20), ...water(25, 90))).toEqual(['0 standby']);
  const unsure = ['chamber.doorClosed', 'chamber.atmosphereSwitch', 'pump.chamberValveOpen'].map((name) => bad(name, 20, 'uncertain'));
  expect(statesOf(...unsure, ...water(90))).toEqual(['0 standby', '20 unobserved']);
});

test('[SG1] a chamber whose signals were bad from the first word is unobserved, not idle', () => {
  const { state, events } = observeAll(rules, [reading('link.alive', true, T), ...allBad(0), ...water(5, 30)]);
  expect([state.equipment.state, events.filter((event) => event.kind === 'equipment-state')]).toEqual(['unobserved', []]);
  const healed = observeAll(rules, [reading('chamber.atmosphereSwitch', true, at(40)), ...water(50)], state);
  expect(healed.state.equipment).toMatchObject({ state: 'standby', since: at(40) });
});

test('[SG1] neither the link nor the heartbeat coming back ends it while every signal is bad', () => {
  const beats = [6, 7, 8].map((s) => reading('controller.heartbeat', s, at(s)));
  const silence = [reading('link.alive', false, at(40)), ...allBad(60), reading('link.alive', true, at(63)), ...water(70, 80)];
  expect(statesOf(...allBad(20), ...silence)).toEqual(['0 standby', '22 unobserved']);
  expect(statesOf(...beats, ...allBad(10), ...water(30), reading('controller.heartbeat', 9, at(31)), ...water(40, 60))).toEqual([
    '0 standby',
    '12 unobserved',
  ]);
});

test('[SG1] with nothing but utilities heard nobody knows what it does', () => {
  const { state, events } = observeAll(rules, [reading('link.alive', true, T), ...water(1, 5, 30)]);
  expect([state.equipment.state, events]).toEqual(['unobserved', []]);
});

test('[SG1] a short silence while every signal is bad bridges nothing, and one good signal does not wake a hung controller', () => {
  const blink = [reading('link.alive', false, at(40)), bad('pump.chamberValveOpen', 45), reading('link.alive', true, at(45))];
  expect(statesOf(...allBad(20), ...blink, ...water(60, 80))).toEqual(['0 standby', '22 unobserved']);
  const beats = [6, 7, 8].map((s) => reading('controller.heartbeat', s, at(s)));
  const later = [reading('pump.chamberValveOpen', false, at(40)), ...water(50)];
  expect(statesOf(...beats, ...water(30), ...allBad(31), ...later)).toEqual(['0 standby', '8 unobserved']);
});

test('[SG2] values lost in the queue are a hole from the last before to the first after', () => {
  const lost = (from: number, to: number): Reading => reading('link.hole', at(from), at(to));
  expect(statesOf(...water(30, 45), lost(20, 44), ...water(50, 60))).toEqual(['0 standby', '20 unobserved', '44 standby']);
  expect(statesOf(...water(30, 45), lost(36, 44), ...water(50, 60))).toEqual(['0 standby']);
});

test('[SG2] what was decided meanwhile is not undone, and a hole inside a hole is one', () => {
  const lost = reading('link.hole', at(20), at(50));
  const opened = [reading('chamber.doorClosed', false, at(30)), ...water(40)];
  const states = ['0 standby', '30 productive', '30 unobserved', '50 productive'];
  expect(statesOf(...opened, lost, ...water(60))).toEqual(states);
  const door = [reading('chamber.doorClosed', false, at(48)), ...water(52)];
  expect(statesOf(...door, reading('link.hole', at(20), at(48)), ...water(60))).toEqual(['0 standby', '48 productive']);
  expect(statesOf(reading('link.alive', false, at(15)), ...water(40), lost, reading('link.alive', true, at(50)), ...water(60))).toEqual([
    '0 standby',
    '15 unobserved',
    '50 standby',
  ]);
});

test('[SG2] a hole told after newer values were handed on is still told, whole', () => {
  const { buffer, ready } = admit(initialOrdering, [...seen, ...water(20, 30, 40, 50)], at(60));
  const late = admit(buffer, [reading('link.hole', at(20), at(44))], at(60));
  expect(late.ready).toHaveLength(1);
  const { state } = observeAll(rules, ready);
  const { events } = observeAll(rules, [...late.ready, ...water(70)], state);
  expect(events.flatMap((event) => (event.kind === 'equipment-state' ? [[event.state, event.at - T]] : []))).toEqual([
    ['unobserved', 20_000],
    ['standby', 44_000],
  ]);
});

test('[SG1] a stored copy in the middle of it continues exactly', () => {
  const readings = [...seen, ...allBad(20), ...water(60), reading('pump.chamberValveOpen', false, at(80)), ...water(85)];
  const whole = observeAll(rules, readings).state;
  const copied = readings.reduce<ChamberState>(
    (state, each) => JSON.parse(JSON.stringify(observe(rules, state, each).state)) as ChamberState,
    initialChamber(rules),
  );
  expect(copied).toEqual(JSON.parse(JSON.stringify(whole)));
});
