/**
 * What one reading costs the reducer: `node tests/bench/observe.ts`. History replays millions, so an ordinary analog value may cost a microsecond.
 */
import { observe } from '../../src/chamber.ts';
import type { ChamberState } from '../../src/chamber.ts';
import type { Reading, SignalValue } from '../../src/reading.ts';
import { rulesByTag as rules } from '../scenarios/scenario-rules.ts';
import { observeAll, reading, readingsOfStory, taggedRun } from '../src/story.ts';

const START = Date.parse('2026-11-25T06:00:00Z');
const COUNT = 2_000_000;
const { state: inPlasma } = observeAll(
  rules,
  readingsOfStory(taggedRun()).filter(({ at }) => at <= START + 15 * 60_000),
);

function cost(name: string, signal: string, value: (i: number) => SignalValue, stepMs = 1): void {
  let state: ChamberState = inPlasma;
  let events = 0;
  const readings: Reading[] = Array.from({ length: 1000 }, (_, i) => reading(signal, value(i), 0));
  const startedAt = performance.now();
  for (let i = 0; i < COUNT; i++) {
    const next = observe(rules, state, { ...(readings[i % 1000] as Reading), at: inPlasma.now + i * stepMs });
    state = next.state;
    events += next.events.length;
  }
  const each = ((performance.now() - startedAt) * 1000) / COUNT;
  console.log(`${name.padEnd(44)} ${each.toFixed(3)} µs  (${events} events)`);
}

for (let round = 0; round < 2; round++) {
  cost('analog that decides nothing (temperature)', 'chamber.temperature', (i) => 300 + i / 100);
  cost('pressure, no threshold crossed', 'chamber.pressure', (i) => 30 + (i % 50) / 100);
  cost('gas flow, no threshold crossed', 'gas.1.flow', (i) => 5e-4 + i * 1e-9);
  cost('forward power, no threshold crossed', 'rf.forward', (i) => 3600 + (i % 10));
  cost('heartbeat', 'controller.heartbeat', (i) => i, 1000);
}
