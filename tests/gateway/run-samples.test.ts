import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { RunSamples } from '../../gateway/run-samples.ts';
import { initialChamber, observe } from '../../src/chamber.ts';
import type { ChamberState } from '../../src/chamber-state.ts';
import { countsAt } from '../../src/run-counts.ts';
import { runRecord } from '../../src/run-record.ts';
import { readScenario } from '../scenarios/scenario.ts';
import { RULES } from '../src/run-example.ts';
import { reading } from '../src/story.ts';

const MINUTE = 60_000;
const PRESSURE = 'chamber.pressure';
const idle = (now: number): ChamberState => ({ ...initialChamber(RULES), now });
const running = (now: number): ChamberState => ({ ...idle(now), run: { run: 'PC-01/x', startedAt: 0 } as ChamberState['run'] });
const shown = (samples: RunSamples) =>
  samples
    .series('PC-01')
    .get(PRESSURE)
    ?.map(({ at, value }) => [at, value]);

test('keeps each change once, in its order, with seven digits', () => {
  const samples = new RunSamples();
  for (const [at, value] of [
    [1, 5],
    [2, 5],
    [3, 0.1],
    [2, 9],
    [4, 5],
  ] as const)
    samples.take(reading(PRESSURE, value, at));
  samples.take(reading('chamber.temperature', 300, 5));
  expect(shown(samples)).toEqual([
    [1, 5],
    [3, Math.fround(0.1)],
    [4, 5],
  ]);
  expect(samples.series('PC-01').size).toBe(1);
  expect(samples.series('PC-02').size).toBe(0);
});

test('a silence is a gap, and an old word told again after it counts from its receipt', () => {
  const samples = new RunSamples();
  samples.take(reading(PRESSURE, 5, 1000));
  samples.take(reading('link.alive', false, 2000));
  samples.take(reading(PRESSURE, 5, 1000, { receivedAt: 9000 }));
  expect(shown(samples)).toEqual([
    [1000, 5],
    [2000, null],
    [9000, 5],
  ]);
});

test('a bad value is a gap', () => {
  const samples = new RunSamples();
  samples.take(reading(PRESSURE, 5, 1000));
  samples.take(reading(PRESSURE, null, 2000, { quality: 'bad' }));
  expect(shown(samples)).toEqual([
    [1000, 5],
    [2000, null],
  ]);
});

test('without a run only the last minutes stay, and what holds; during one all of it', () => {
  const fill = (samples: RunSamples, state: (now: number) => ChamberState): void => {
    for (let minute = 0; minute <= 20; minute++) {
      samples.take(reading(PRESSURE, minute, minute * MINUTE));
      samples.tidy('PC-01', state(minute * MINUTE));
    }
  };
  const [resting, busy] = [new RunSamples(), new RunSamples()];
  fill(resting, idle);
  fill(busy, running);
  expect(shown(resting)?.map(([, value]) => value)).toEqual([14, 15, 16, 17, 18, 19, 20]);
  expect(shown(busy)).toHaveLength(21);
});

test('a run that never ends costs so many samples and no more: the oldest fall off', () => {
  const samples = new RunSamples({ ofOne: 100 });
  for (let n = 0; n < 1000; n++) {
    samples.take(reading(PRESSURE, n, n));
    samples.tidy('PC-01', running(n));
  }
  expect(shown(samples)!.length).toBeLessThanOrEqual(100);
  expect(shown(samples)!.at(-1)).toEqual([999, 999]);
});

test('a fleet of runs that never end is bounded as a whole: the longest lose their oldest, a short one nothing', () => {
  const samples = new RunSamples({ ofOne: 1_000_000, together: 20_000 });
  const at = (chamber: string, n: number): void => {
    samples.take({ ...reading(PRESSURE, n, n), chamber });
    samples.tidy(chamber, running(n));
  };
  for (let n = 0; n < 50; n++) at('PC-03', n);
  for (let n = 0; n < 30_000; n++) ['PC-01', 'PC-02'].forEach((chamber) => at(chamber, n));
  const [first, second, third] = ['PC-01', 'PC-02', 'PC-03'].map((chamber) => samples.series(chamber).get(PRESSURE) ?? []);
  expect(first!.length + second!.length).toBeLessThan(21_100);
  expect(Math.min(first!.length, second!.length)).toBeGreaterThan(4_000);
  expect([first!.at(-1)?.at, second!.at(-1)?.at]).toEqual([29_999, 29_999]);
  expect(third).toHaveLength(50);
});

test('what was recorded before a restart is taken up once, and ends in a gap', () => {
  const samples = new RunSamples();
  const trace = { chamber: 'PC-01', from: 0, to: 100, signals: [{ signal: PRESSURE, at: [10, 20], value: [1, 2] }] };
  samples.refill('PC-01', { trace, knownTo: 20, told: [] });
  samples.refill('PC-01', { trace, knownTo: 99, told: [] });
  samples.take(reading(PRESSURE, 2, 15, { receivedAt: 70 }));
  expect(shown(samples)).toEqual([
    [10, 1],
    [20, 2],
    [20, null],
    [70, 2],
  ]);
});

test('process checks are kept with the run, those told before a restart as well', () => {
  const finding = (at: number, code: 'purge-short' | 'gas-with-door-open') => {
    return { kind: 'finding', chamber: 'PC-01', at, code, text: 'x', run: 'PC-01/x' } as const;
  };
  const samples = new RunSamples();
  const trace = { chamber: 'PC-01', from: 0, to: 100, signals: [] };
  samples.refill('PC-01', { trace, knownTo: 20, told: [finding(5, 'gas-with-door-open')] });
  samples.hear('PC-01', [finding(30, 'purge-short')]);
  expect(samples.findings('PC-01').map(({ at, code }) => [at, code])).toEqual([
    [5, 'gas-with-door-open'],
    [30, 'purge-short'],
  ]);
  samples.tidy('PC-01', idle(10 * MINUTE));
  expect(samples.findings('PC-01')).toEqual([]);
});

test('a run interrupted by a power failure and vented by hand has its short purge in its record', () => {
  const text = readFileSync(new URL('../scenarios/power-fail-in-plasma.txt', import.meta.url), 'utf8');
  const { rules, readings } = readScenario(text);
  const samples = new RunSamples();
  let state = initialChamber(rules);
  const records = readings.flatMap((each) => {
    const step = observe(rules, state, each);
    state = step.state;
    samples.take(each);
    samples.hear('PC-01', step.events);
    const told = { series: samples.series('PC-01'), alarms: samples.alarms('PC-01'), findings: samples.findings('PC-01') };
    return step.events.flatMap((event) =>
      event.kind === 'run-ended'
        ? [{ run: event, record: runRecord({ run: event, rules, ...told, counts: countsAt(state, event.at) }) }]
        : [],
    );
  });
  expect(records.map(({ run, record }) => [run.outcome, record.deviations.map(({ code }) => code)])).toEqual([
    ['interrupted', expect.arrayContaining(['purge-short', 'not-fully-observed'])],
  ]);
});
