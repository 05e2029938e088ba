import { expect, test } from 'vitest';
import { mergeChanges } from '../../dashboard/fleet-merge.ts';
import { fleetOf } from '../e2e/fixture-plant.ts';

const NOW = Date.UTC(2026, 10, 25, 9, 48);
const fleet = fleetOf(12, NOW, 'one');
const changes = { boot: 'one', rev: 2, seq: 1001, now: NOW + 2000, chambers: [], strip: null };

test('a changed chamber takes its old place and the others are left as they were', () => {
  const changed = { ...fleet.chambers[4]!, name: 'renamed' };
  const merged = mergeChanges(fleet, { ...changes, chambers: [changed] })!;
  expect(merged.chambers.map((t) => t.chamber)).toEqual(fleet.chambers.map((t) => t.chamber));
  expect(merged.chambers[4]).toBe(changed);
  expect(merged.chambers[3]).toBe(fleet.chambers[3]);
});

test('an empty change is a heartbeat: it moves the clock and keeps the rest', () => {
  const merged = mergeChanges(fleet, changes)!;
  expect(merged.now).toBe(NOW + 2000);
  expect(merged.chambers).toBe(fleet.chambers);
  expect(merged.strip).toBe(fleet.strip);
});

test('changes of another boot, or of a chamber never seen, ask for the whole', () => {
  expect(mergeChanges(fleet, { ...changes, boot: 'two' })).toBeNull();
  expect(mergeChanges(fleet, { ...changes, chambers: [{ ...fleet.chambers[0]!, chamber: 'PC-99' }] })).toBeNull();
});

test('changes older than the page are ignored', () => {
  expect(mergeChanges({ ...fleet, rev: 9 }, { ...changes, rev: 5 })).toMatchObject({ rev: 9, now: NOW });
});
