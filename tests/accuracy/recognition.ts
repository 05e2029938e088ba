/**
 * How well runs, phases, time and alarms are recognised: the simulated plant at 1 Hz, with its faults, link losses and people, through the
 * ordering window and `observe`, once with the controllers' phase tags and once from signals alone, held against what really happened.
 * `node tests/accuracy/recognition.ts [days] [seed]` prints the table. Simulator and rules share their authors' assumptions about chambers:
 * the figures show what the rules do on that model, not what a real chamber gives.
 */
import { initialChamber, observe } from '../../src/chamber.ts';
import type { ChamberState } from '../../src/chamber.ts';
import type { ChamberRules } from '../../src/chamber-rules.ts';
import type { ChamberEvent } from '../../src/event.ts';
import { admit, initialOrdering } from '../../src/ordering.ts';
import type { Reading } from '../../src/reading.ts';
import { STEP_HOLD_MS } from '../../src/plasma-step.ts';
import { chamberRules } from '../../src/site-rules.ts';
import { ascending, percentile } from '../../src/stats.ts';
import { judge, merged } from './judge.ts';
import type { NoSignalTells, Verdict } from './judge.ts';
import { demoSite, plantFeed } from './plant-feed.ts';

export type Story = { readonly seed: number; readonly from: number; readonly days: number };
export type Measured = {
  readonly byTag: Verdict;
  readonly bySignals: Verdict;
  readonly readings: number;
  readonly observeMs: number;
};

/** One chamber followed one way. */
type Follower = { readonly rules: ChamberRules; state: ChamberState; readonly events: ChamberEvent[] };

const SEQUENCE_TAGS = new Set(['sequence.phaseCode', 'recipe.step', 'recipe.stepCount', 'recipe.stepDuration', 'recipe.stepElapsed']);

export function measure({ seed, from, days }: Story): Measured {
  const site = demoSite();
  const feed = plantFeed({ seed, from, site });
  const follow = (rules: ChamberRules): Follower => ({ rules, state: initialChamber(rules), events: [] });
  const chambers = feed.plant.chambers.map(({ id }) => {
    const rules = chamberRules(site, id);
    return { id, ordering: initialOrdering, byTag: follow(rules), bySignals: follow({ ...rules, phaseCodes: null }) };
  });
  let [readings, observeMs] = [0, 0];
  const to = from + days * 86_400_000;
  while (feed.plant.now < to) {
    const told = feed.second();
    const startedAt = performance.now();
    for (const chamber of chambers) {
      const { buffer, ready } = admit(chamber.ordering, told.get(chamber.id) ?? [], feed.plant.now);
      chamber.ordering = buffer;
      readings += ready.length;
      for (const reading of ready) {
        take(chamber.byTag, reading);
        if (!SEQUENCE_TAGS.has(reading.signal)) take(chamber.bySignals, reading);
      }
    }
    observeMs += performance.now() - startedAt;
  }
  feed.plant.closeTruth();
  const { truth, holes } = feed;
  const tagged = chambers.filter(({ byTag }) => byTag.rules.phaseCodes !== null);
  const verdict = (id: string, { events }: Follower, unseen: Parameters<typeof judge>[2]): Verdict =>
    judge({ truth, events, holes, from, to }, id, unseen);
  return {
    byTag: merged(tagged.map(({ id, byTag }) => verdict(id, byTag, () => false))),
    bySignals: merged(chambers.map(({ id, bySignals }) => verdict(id, bySignals, noSignalTells))),
    readings,
    observeMs,
  };
}

/**
 * After a standstill or a leak test the pump valve is shut already: that the sequence now counts its vent delay shows in no signal. A plasma
 * step shorter than a new set point must hold (plasma-step.ts [PS2]) is no different from a stray one.
 */
const noSignalTells: NoSignalTells = ({ phase, step, from, to }, before) =>
  (phase === 'vent-delay' && (before === 'hold' || before === 'leak-test')) || (step !== null && step > 1 && to - from < STEP_HOLD_MS);

function take(follower: Follower, reading: Reading): void {
  const { state, events } = observe(follower.rules, follower.state, reading);
  follower.state = state;
  for (const event of events) follower.events.push(event);
}

export function shareWithin(verdict: Verdict, ms: number): number {
  const all = [...verdict.errors.values()].flat();
  return all.filter((error) => Math.abs(error) <= ms).length / all.length;
}

export function table(name: string, verdict: Verdict): string {
  const seconds = (ms: number): string => (ms / 1000).toFixed(1).padStart(7);
  const hours = (ms: number): string => (ms / 3_600_000).toFixed(2);
  const rows = [...verdict.errors].map(([phase, errors]) => {
    const sorted = ascending(errors);
    const worst = Math.max(...errors.map(Math.abs));
    return `  ${phase.padEnd(18)}${String(errors.length).padStart(6)}${[0.05, 0.5, 0.95].map((p) => seconds(percentile(sorted, p))).join('')}${seconds(worst)}`;
  });
  const { stateMs, alarms } = verdict;
  const list = (title: string, of: readonly string[]): string[] =>
    of.length > 0 ? [`${title}: ${of.length}`, ...of.slice(0, 12).map((each) => `    ${each}`)] : [];
  return [
    `${name}`,
    `  runs true ${verdict.runsTrue}, found ${verdict.found}, missed ${verdict.missed.length}, invented ${verdict.invented.length}, started but never pumped ${verdict.neverPumped}, outcome right ${verdict.outcomeRight}`,
    `  boundary error, s    n     p5    p50    p95    max`,
    ...rows,
    `  within 2 s: ${(100 * shareWithin(verdict, 2_000)).toFixed(3)} %; in or just after a hole, not judged: ${verdict.inHoles}; shown by no signal, not judged: ${verdict.unseen}; not told: ${verdict.unmatched.length}`,
    `  equipment state agrees ${hours(stateMs.agreed)} h, differs ${hours(stateMs.differed)} h, unobserved ${hours(stateMs.unobserved)} h`,
    ...[...stateMs.differences]
      .sort((a, b) => b[1] - a[1])
      .slice(0, 12)
      .map(([key, ms]) => `    ${hours(ms)} h ${key}`),
    `  alarms true ${alarms.real}, matched ${alarms.matched}, invented ${alarms.invented}`,
    `  findings: ${[...verdict.findings].map(([code, count]) => `${count} ${code}`).join(', ') || 'none'}`,
    ...list('  missed', verdict.missed),
    ...list('  invented', verdict.invented),
    ...list('  outcome wrong', verdict.outcomeWrong),
    ...list('  boundaries not told', verdict.unmatched),
  ].join('\n');
}

if (import.meta.main) {
  const days = Number(process.argv[2] ?? 7);
  const seed = Number(process.argv[3] ?? 1);
  const from = Date.UTC(2026, 9, 5, 4);
  const { byTag, bySignals, readings, observeMs } = measure({ seed, from, days });
  console.log(table('With phase tag', byTag));
  console.log(table('From signals alone', bySignals));
  console.log(`${readings} readings, ordering and two reducers: ${((1000 * observeMs) / readings).toFixed(2)} µs each`);
}
