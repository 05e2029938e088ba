/**
 * One working day second by second: what a run of the plant looks like. The figures are those the model was designed to give, measured on a
 * prototype of the same equations (no outside source).
 */
import { beforeAll, describe, expect, test } from 'vitest';
import { HOUR, type Line, lines, median, MONDAY, type Story, story } from './plant-story.ts';

const FROM = MONDAY + 5 * HOUR;
let lived: Story;
let phases: Line<'phase'>[];

beforeAll(() => {
  lived = story({ from: FROM }, (path) => path.startsWith('PC-05') || path.startsWith('PC-01'));
  lived.plant.advance(MONDAY + 22 * HOUR, lived.sink);
  phases = lines(lived.truth, 'phase');
});

const secondsOf = (chambers: readonly string[], phase: string): number[] =>
  phases.filter((line) => line.phase === phase && chambers.includes(line.chamber)).map((line) => (line.to - line.from) / 1000);
const M = ['PC-05', 'PC-06', 'PC-08', 'PC-10'];

/** The value a tag had at a moment: what was told last. */
function valueAt(path: string, at: number): number {
  const earlier = lived.told.filter((each) => each.path === path && each.at <= at);
  return Number(earlier[earlier.length - 1]?.value);
}

function runOf(chamber: string, recipe: string): Line<'run'> {
  const found = lines(lived.truth, 'run').find((run) => run.chamber === chamber && run.recipe === recipe && run.outcome === 'completed');
  if (found === undefined) throw new Error(`no ${recipe} in ${chamber} on this day`);
  return found;
}
const phaseOf = (run: Line<'run'>, phase: string, step: number | null = null): Line<'phase'> =>
  phases.find(
    (line) => line.chamber === run.chamber && line.phase === phase && line.step === step && line.from >= run.from && line.to <= run.to,
  )!;

describe('phase times of a medium chamber', () => {
  test('pump-down to 100 mTorr takes about 137 s', () => expect(Math.abs(median(secondsOf(M, 'pump-down')) - 137)).toBeLessThan(7));
  test('gas settles in 20 s', () => expect(median(secondsOf(M, 'gas-stabilisation'))).toBe(20));
  test('purge 60 s, vent delay 4 s, vent about 97 s', () => {
    expect(median(secondsOf(M, 'purge'))).toBe(60);
    expect(median(secondsOf(M, 'vent-delay'))).toBe(4);
    expect(Math.abs(median(secondsOf(M, 'vent')) - 97)).toBeLessThan(3);
  });
});

test('a thermal gauge sees nothing of the first 103 s of a pump-down', () => {
  const run = runOf('PC-05', 'DSM-PI-25');
  const first = lived.told.find((each) => each.path === 'PC-05/Chamber/Pressure' && each.at > run.from && Number(each.value) < 1990)!;
  expect(Math.abs((first.at - run.from) / 1000 - 103)).toBeLessThan(6);
});

test('plasma pressure of the three desmear steps is 260, 294 and 256 mTorr within a few percent', () => {
  const run = runOf('PC-05', 'DSM-PI-25');
  for (const [step, pressure] of [
    [1, 260],
    [2, 294],
    [3, 256],
  ] as const) {
    const { to } = phaseOf(run, 'plasma', step);
    expect(Math.abs(valueAt('PC-05/Chamber/Pressure', to - 2000) / pressure - 1)).toBeLessThan(0.06);
  }
});

test('desmear delivers 97 to 98.6 % of its nominal 1387 Wh and warms the electrodes by some 45 K', () => {
  const run = runOf('PC-05', 'DSM-PI-25');
  const from = phaseOf(run, 'plasma', 1).from;
  const to = phaseOf(run, 'plasma', 3).to;
  const changes = lived.told.filter(({ path, at }) => /PC-05\/Rf\/(Forward|Reflected)$/.test(path) && at >= from && at <= to);
  let [forward, reflected, joules, at] = [0, 0, 0, from];
  for (const each of changes) {
    joules += ((forward - reflected) * (each.at - at)) / 1000;
    at = each.at;
    if (each.path.endsWith('Forward')) forward = Number(each.value);
    else reflected = Number(each.value);
  }
  expect(joules / 3600 / 1386.7).toBeGreaterThan(0.97);
  expect(joules / 3600 / 1386.7).toBeLessThan(0.986);
  const warm = valueAt('PC-05/Chamber/Temperature', to);
  expect(warm).toBeGreaterThan(55);
  expect(warm).toBeLessThan(90);
});

test('argon reads low on the gauge: activation is shown at about 0.6 of its true pressure', () => {
  const run = runOf('PC-01', 'ACT-AR-07');
  const { to } = phaseOf(run, 'plasma', 1);
  expect(Math.abs(valueAt('PC-01/Chamber/Pressure', to - 2000) / (0.62 * 292) - 1)).toBeLessThan(0.12);
});

test('the CF4 instrument shows nitrogen-equivalent flow: 150 sccm of CF4 read as 357', () => {
  const run = runOf('PC-05', 'DSM-PI-25');
  const { to } = phaseOf(run, 'plasma', 2);
  expect(valueAt('PC-05/Gas2/FlowSetPoint', to - 1000)).toBeCloseTo(150 / 0.42, 1);
  expect(Math.abs(valueAt('PC-05/Gas2/Flow', to - 2000) - 150 / 0.42)).toBeLessThan(12);
});

test('reflected power stands high at ignition and settles under 3 % of forward', () => {
  const run = runOf('PC-05', 'DSM-PI-25');
  const { from } = phaseOf(run, 'plasma', 1);
  const early = lived.told
    .filter(({ path, at }) => path === 'PC-05/Rf/Reflected' && at >= from && at <= from + 10_000)
    .map(({ value }) => Number(value));
  expect(Math.max(...early)).toBeGreaterThan(300);
  expect(valueAt('PC-05/Rf/Reflected', from + 60_000) / valueAt('PC-05/Rf/Forward', from + 60_000)).toBeLessThan(0.03);
});

test('the controller tells every phase at the second it begins', () => {
  const codes: Record<string, number> = {
    'pump-down': 10,
    'gas-stabilisation': 20,
    purge: 40,
    vent: 60,
    'wait-unload': 70,
    unload: 75,
    load: 5,
  };
  const told = lived.told.filter(({ path }) => path === 'PC-05/Sequence/PhaseCode');
  const true05 = phases.filter(({ chamber, phase }) => chamber === 'PC-05' && codes[phase] !== undefined);
  expect(true05.length).toBeGreaterThan(50);
  for (const line of true05) expect(told.some(({ value, at }) => value === codes[line.phase] && at === line.from)).toBe(true);
});
