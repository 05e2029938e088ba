import { expect, test } from 'vitest';
import { rulesBySignals as rules } from '../scenarios/scenario-rules.ts';
import { initialChamber } from '../../src/chamber.ts';
import { restoredState, STATE_VERSION } from '../../src/stored-state.ts';
import { openRunExample } from './examples.ts';
import { runWith, stateAfter } from './story.ts';

const initial = initialChamber(rules);
const lived = stateAfter(runWith());

test('[SV1] a state of this program comes back as it was, to the last field', () => {
  expect(restoredState(JSON.parse(JSON.stringify(lived)), initial)).toEqual(lived);
});

test('[SV1] what an older program did not know begins as for a chamber never watched, what it knew stays', () => {
  const { doorClosedAt: _unknown, ...older } = JSON.parse(JSON.stringify(lived)) as typeof lived;
  const { blind: _too, ...presence } = older.presence;
  const restored = restoredState({ ...older, presence, forgotten: 1 }, initial);
  expect(restored).toEqual({ ...lived, doorClosedAt: initial.doorClosedAt, presence: { ...lived.presence, blind: false } });
});

test('[SV2] a state without a version is of the first', () => {
  const { version: _none, ...unversioned } = lived;
  expect(restoredState(unversioned, initial).version).toBe(STATE_VERSION);
});

test('[SV3] a state of a newer program is refused, and so is what is none', () => {
  expect(() => restoredState({ ...lived, version: STATE_VERSION + 1 }, initial)).toThrow(/newer Glowfleet/);
  expect(() => restoredState([], initial)).toThrow(/damaged/);
});

test('[SV2] version 1 had one word for shelved, suppressed and out of service: it stays suppressed, by what is not told', () => {
  const stand = { since: 5, heard: true, counted: true, suppressed: true, acknowledged: false };
  const restored = restoredState({ ...lived, version: 1, alarms: { X: stand, Y: { ...stand, suppressed: false } } }, initial);
  const news = { suppressedSince: null, shelvedUntil: null, confirmed: null, branches: [] };
  expect(restored.alarms).toEqual({
    X: { ...stand, ...news, suppressedAs: ['not told which'] },
    Y: { ...stand, ...news, suppressed: false, suppressedAs: [] },
  });
});

test('[SV2] version 2 knew only the sum of the holes of a run: it stays, and no place of a hole is made up', () => {
  const run = openRunExample({ unobservedMs: 5_000, holes: [{ from: 1, to: 2 }] });
  const { holes: _unknown, ...older } = run;
  const restored = restoredState({ ...lived, version: 2, run: older, lastRun: null }, initial);
  expect([restored.run, restored.lastRun]).toEqual([{ ...run, holes: [] }, null]);
});
