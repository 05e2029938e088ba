/** What a tile says of a chamber: words of the hall over SEMI E10 states (domain notes 8.2), tones by the meanings of IEC 60073. */
import { expect, test } from 'vitest';
import type { ChamberTile } from '../../src/contract.ts';
import { face, shownAge } from '../../dashboard/tile-face.ts';
import { tile } from '../e2e/fixture-plant.ts';

const NOW = Date.UTC(2026, 10, 25, 9, 48);
const view = { now: NOW, zone: 'Europe/Berlin', speed: 1 };
const MIN = 60_000;
const running = tile(0, 4, NOW);

test('a running chamber counts down to its likely end and up from its start', () => {
  const run = {
    ...running.run!,
    startedAt: NOW - 33 * MIN,
    finish: { early: NOW, likely: NOW + 12 * MIN, late: NOW + 13 * MIN, basis: '' },
  };
  const shown = face({ ...running, run }, view);
  expect(shown).toMatchObject({
    word: 'RUNNING',
    tone: 'plain',
    time: { amount: '12', unit: 'min' },
    caption: 'to finish',
    aside: 'ends 11:00',
    progress: '33 min in',
  });
});

test.each(['unscheduled-downtime', 'scheduled-downtime', 'nonscheduled'] as const)(
  'a vented chamber in %s counts the time in that state: only one to be unloaded waits',
  (state) => {
    const down = { ...running, state, run: null, phase: 'wait-unload' as const, stateSince: NOW - 3 * MIN, waitingSince: NOW - 9 * MIN };
    expect(face(down, view)).toMatchObject({ time: { amount: '3', unit: 'min' }, aside: 'since 10:45' });
    expect(face(down, view).caption).not.toBe('waiting');
  },
);

test('a chamber never heard counts nothing: there is no time it has been so', () => {
  const never: ChamberTile = { ...running, link: 'never', state: 'unobserved', heardAt: null, stateSince: 0 };
  expect(face(never, view)).toMatchObject({ word: 'NO DATA', time: null, detail: 'never heard', aside: '' });
});

test('a run past its likely end says over time instead of a negative number', () => {
  const run = { ...running.run!, finish: { early: NOW, likely: NOW - 3 * MIN, late: NOW, basis: '' } };
  expect(face({ ...running, run }, view)).toMatchObject({ caption: 'over time', time: { amount: '3', unit: 'min' } });
});

test('a finish that just went by is due now, not late', () => {
  const run = { ...running.run!, finish: { early: NOW, likely: NOW - 5000, late: NOW, basis: '' } };
  expect(face({ ...running, run }, view)).toMatchObject({ time: { amount: '0', unit: 's' }, aside: 'due now' });
});

test('a run without a known end counts elapsed time and says so', () => {
  const run = { ...running.run!, startedAt: NOW - 5 * MIN, finish: null };
  expect(face({ ...running, run }, view)).toMatchObject({
    caption: 'elapsed',
    progress: 'end not known',
    time: { amount: '5', unit: 'min' },
  });
});

test('a vented chamber asks for unloading with the time it waits, in the tone of an operator’s turn', () => {
  const waiting = tile(2, 4, NOW);
  const shown = face({ ...waiting, waitingSince: NOW - 7 * MIN }, view);
  expect(shown).toMatchObject({ word: 'UNLOAD', mark: 'unload', tone: 'turn', caption: 'waiting', time: { amount: '7', unit: 'min' } });
});

test('a silent chamber never keeps its last state: it says since when there is no data', () => {
  const silent: ChamberTile = { ...running, link: 'silent', heardAt: Date.UTC(2026, 10, 25, 9, 32) };
  const shown = face(silent, view);
  expect(shown).toMatchObject({ word: 'NO DATA', tone: 'dead', time: { amount: '16', unit: 'min' } });
  expect(shown.detail).toContain('no data since 10:32');
  expect(JSON.stringify(shown)).not.toContain('RUNNING');
});

test('a chamber whose time is unobserved is shown as unobserved even when its link is said to be live', () => {
  expect(face({ ...running, state: 'unobserved' }, view).tone).toBe('dead');
});

test.each([
  ['call-maintenance', 'act'],
  ['attend', 'attend'],
  ['unload', 'turn'],
  ['load', 'ready'],
] as const)('the need %s has the tone %s', (need, tone) => {
  expect(face({ ...running, need }, view).tone).toBe(tone);
});

test.each([
  ['standby', 'IDLE'],
  ['engineering', 'ENGINEERING'],
  ['scheduled-downtime', 'MAINTENANCE'],
  ['unscheduled-downtime', 'DOWN'],
  ['nonscheduled', 'NO SHIFT'],
] as const)('the equipment state %s reads %s', (state, word) => {
  expect(face({ ...running, state, run: null, phase: 'idle' }, view).word).toBe(word);
});

test('each word has a mark of its own shape, so that colour is never alone', () => {
  const marks = Array.from({ length: 17 }, (_, i) => face(tile(i, 6, NOW), view)).map((f) => [f.word, f.mark] as const);
  const words = (mark: string): Set<string> => new Set(marks.filter(([, m]) => m === mark).map(([word]) => word));
  for (const [word, mark] of marks) expect(mark === 'door' ? ['LOADING', 'UNLOADING'] : [...words(mark)]).toContain(word);
  for (const [, mark] of marks) expect(words(mark).size).toBe(mark === 'door' ? 2 : 1);
});

test('the age of data is shown above ten seconds, and later where the plant runs faster than life', () => {
  const old: ChamberTile = { ...running, heardAt: NOW - 11_000 };
  expect(shownAge(old, view)).toBe(11_000);
  expect(shownAge({ ...old, heardAt: NOW - 9000 }, view)).toBeNull();
  expect(shownAge(old, { ...view, speed: 60 })).toBeNull();
});
