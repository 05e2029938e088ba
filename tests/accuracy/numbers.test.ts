// A thousand random books, each computed by src/ and counted tick by tick from the events with no code shared: all figures equal to 1e-9.
import { expect, test } from 'vitest';
import { fleetFacts } from '../../src/facts.ts';
import { loadRates, losses } from '../../src/losses.ts';
import type { WindowNumbers } from '../../src/numbers.ts';
import { windowNumbers } from '../../src/window.ts';
import { type Books, randomBooks } from './random-books.ts';
import { type Figures, tickByTick } from './tick-by-tick.ts';

const HISTORIES = 1000;
const PORTION = 100;

function computed({ chambers, events, heardUntil, calendar, window }: Books): Figures {
  const found = windowNumbers(fleetFacts({ chambers, events, heardUntil }), window, calendar);
  const figures: Figures = new Map();
  for (const numbers of [...found.chambers, found.fleet])
    for (const [key, value] of flat(numbers)) figures.set(`${numbers.chamber ?? 'fleet'}/${key}`, value);
  for (const { state, cause, lostMs, occurrences, loads } of losses(found.intervals, loadRates(found.chambers))) {
    figures.set(`loss ${state}/${cause}`, lostMs);
    figures.set(`loss times ${state}/${cause}`, occurrences);
    figures.set(`loss loads ${state}/${cause}`, loads);
  }
  return figures;
}

const SHARES = [
  'totalUtilization',
  'operationalUtilization',
  'totalUptime',
  'operationalUptime',
  'equipmentDependentUptime',
  'supplierDependentUptime',
] as const;
const MEANS = ['mtbfProductive', 'mtbfUptime', 'cyclesBetweenFailures', 'mtbAssists', 'mttr', 'meanOffline'] as const;

function flat(numbers: WindowNumbers): Figures {
  const out: Figures = new Map(Object.entries(numbers.time).map(([state, ms]) => [`time/${state}`, ms]));
  for (const name of SHARES) for (const key of ['value', 'low', 'high', 'coverage'] as const) out.set(`${name} ${key}`, numbers[name][key]);
  const { reliability: r, loads } = numbers;
  const counts = { failure: r.failures, assist: r.assists, external: r.external, cut: r.cut, open: r.open, repairs: r.repairs };
  for (const [key, value] of Object.entries({ ...counts, 'repair ms': r.repairMs, 'downtime events': r.downtimeEvents }))
    out.set(key, value);
  for (const name of MEANS) out.set(name, r[name].estimate);
  for (const key of ['completed', 'aborted', 'interrupted', 'engineering'] as const) out.set(`loads ${key}`, loads[key]);
  numbers.oee.forEach((oee, i) => {
    for (const key of ['value', 'low', 'high'] as const) out.set(`oee ${i === 0 ? 'e79' : 'iso'} ${key}`, oee[key]);
  });
  out.set('technical efficiency', numbers.iso22400.find(({ name }) => name === 'technical efficiency')?.value ?? null);
  for (const { reason, waitMs, occurrences } of numbers.waiting) {
    out.set(`waiting/${reason}`, waitMs);
    out.set(`waiting times/${reason}`, occurrences);
  }
  for (const { shift, shifts, loads: made } of numbers.shiftLoads)
    if (shift !== null) {
      out.set(`shift ${shift} loads`, made);
      out.set(`shift ${shift} shifts`, shifts);
    }
  flatTimes(numbers, out);
  return out;
}

function flatTimes({ recipes, throughput }: WindowNumbers, out: Figures): void {
  for (const { recipe, runs, processTime, cycleTime, waitForUnload } of recipes) {
    out.set(`${recipe} runs`, runs);
    for (const p of ['p10', 'p50', 'p90'] as const) {
      out.set(`${recipe} process ${p}`, processTime?.[p] ?? null);
      out.set(`${recipe} cycle ${p}`, cycleTime?.[p] ?? null);
    }
    for (const p of ['p50', 'p95'] as const) out.set(`${recipe} wait ${p}`, waitForUnload?.[p] ?? null);
    out.set(`${recipe} wait sum`, waitForUnload?.sumMs ?? null);
  }
  const [all] = throughput;
  if (!all) return;
  out.set('cycles', all.cycles).set('cycle ms', all.cycleMs).set('busy cycles', all.busyCycles);
  for (const { part, ms, minuteLoadsPerWeek, minuteLoadsPerWeekBusy } of all.parts)
    out.set(`part ${part}`, ms).set(`minute ${part}`, minuteLoadsPerWeek).set(`minute ${part} busy`, minuteLoadsPerWeekBusy);
}

function differences(seed: number): readonly string[] {
  const books = randomBooks(seed);
  const [ours, counted] = [computed(books), tickByTick(books)];
  return [...new Set([...ours.keys(), ...counted.keys()])].flatMap((key) => {
    const [a, b] = [ours.get(key), counted.get(key)];
    const equal = typeof a === 'number' && typeof b === 'number' ? Math.abs(a - b) <= 1e-9 * Math.max(1, Math.abs(b)) : a === b;
    return equal ? [] : [`seed ${seed}: ${key} is ${a}, counted ${b}`];
  });
}

test.each(Array.from({ length: HISTORIES / PORTION }, (_, i) => i * PORTION))(
  'random books %d and the next hundred: all figures equal',
  (first) => {
    const found = Array.from({ length: PORTION }, (_, i) => differences(first + i));
    expect(found.flat().slice(0, 20)).toEqual([]);
  },
);
