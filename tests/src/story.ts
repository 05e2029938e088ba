/**
 * Stories for unit tests in the words of tests/scenarios/scenario.ts: one whole run to start from, and what the reducer said of it.
 */
import type { ChamberRules } from '../../src/chamber-rules.ts';
import { initialChamber, observe } from '../../src/chamber.ts';
import type { ChamberState } from '../../src/chamber.ts';
import type { ChamberEvent } from '../../src/event.ts';
import type { Reading, SignalValue } from '../../src/reading.ts';
import { play, readScenario, said } from '../scenarios/scenario.ts';

const TAG = `sequence.phaseCode 0@0:00 5@1:00 0@6:00 10@6:05 20@8:25 30@8:45 40@30:46 50@31:46 60@31:50 70@33:20 75@35:00 0@39:00
recipe.step 0@0:00 1@8:45 2@12:46 0@30:46
recipe.stepCount 2@0:00
recipe.stepDuration 0@0:00 241@8:45 1080@12:46 0@30:46
`;

const RUN = `start 2026-11-25T06:00:00Z
beat 0:00..40:00
chamber.doorClosed true@0:00 false@1:00 true@6:00 false@35:00 true@39:00
chamber.atmosphereSwitch true@0:00 false@6:12 true@33:20
pump.running true@0:00
pump.chamberValveOpen false@0:00 true@6:05 false@31:46
chamber.pressure 101325@0:00 101325>13@6:05..8:25
vent.valveOpen false@0:00 true@31:50 false@33:20
recipe.name DSM-PI-25@0:00
load.id QM-26-04117-A@2:00
gas.1.flow 0@0:00 600sccm@8:26 700sccm@12:47 0@30:47
gas.2.flow 0@0:00 150sccm@12:47 0@30:47
gas.3.flow 0@0:00 500sccm@31:17 0@31:46
rf.forward 0@0:00 2800@8:46 3600@12:46 0@30:46
rf.forwardSetPoint 0@0:00 2800@8:45 3600@12:46 0@30:46
`;

/** The whole run with some signals told otherwise: each line replaces the one of its signal, or is added. */
export function runWith(...lines: readonly string[]): string {
  const words = new Map(
    RUN.trim()
      .split('\n')
      .map((line) => [line.split(' ')[0] ?? '', line]),
  );
  const more: string[] = [];
  for (const line of lines) {
    const [word = '', ...rest] = line.split(' ');
    if (words.has(word) && rest.length === 0) words.delete(word);
    else if (words.has(word)) words.set(word, line);
    else more.push(line);
  }
  return [...words.values(), ...more].join('\n');
}

export const taggedRun = (...lines: readonly string[]): string => `rules tag\n${runWith(...lines, ...TAG.trim().split('\n'))}`;

const ALL = ['phase', 'state', 'run', 'started', 'alarm', 'finding'];

/** What was said, of the kinds asked for. */
export function told(text: string, ...kinds: readonly string[]): readonly string[] {
  const scenario = readScenario(`${text}\n${(kinds.length > 0 ? kinds : ALL).map((kind) => `expect ${kind}`).join('\n')}`);
  return said(scenario, play(scenario).events);
}

export const eventsOf = (text: string): readonly ChamberEvent[] => play(readScenario(text)).events;
export const stateAfter = (text: string): ChamberState => play(readScenario(text)).state;
export const readingsOfStory = (text: string): readonly Reading[] => readScenario(text).readings;

export function observeAll(
  rules: ChamberRules,
  readings: readonly Reading[],
  from = initialChamber(rules),
): { state: ChamberState; events: readonly ChamberEvent[] } {
  let state = from;
  const events: ChamberEvent[] = [];
  for (const reading of readings) {
    const next = observe(rules, state, reading);
    state = next.state;
    events.push(...next.events);
  }
  return { state, events };
}

export const reading = (signal: string, value: SignalValue, at: number, more: Partial<Reading> = {}): Reading => ({
  chamber: 'PC-01',
  signal: signal as Reading['signal'],
  value,
  quality: 'good',
  at,
  timeOrigin: 'source',
  receivedAt: at,
  ...more,
});
