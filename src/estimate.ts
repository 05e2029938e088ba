/**
 * When a running chamber will be back at atmosphere, and what is still to come.
 * [ET1] Still to come are the stretches that this chamber's completed runs of the recipe had after the present one; their spread is p10 to p90.
 * [ET2] The running stretch lasts at least until now: what is overdue is not promised for the past.
 * [ET3] The controller's step time goes before the learned one while that step runs.
 * [ET4] Without a completed run of the recipe to go by there is no estimate.
 */
import type * as z from 'zod/mini';
import type { runningRun as runningRunShape, RunStretch } from './contract.ts';
import type { ChamberState, Learned, OpenRun } from './chamber-state.ts';
import type { Phase } from './equipment.ts';
import { stretchKey } from './learned.ts';
import { isInRun } from './run.ts';
import { ascending, percentile } from './stats.ts';

type RunningRun = z.infer<typeof runningRunShape>;

type Expected = {
  readonly phase: Phase;
  readonly step: number | null;
  readonly earlyMs: number;
  readonly likelyMs: number;
  readonly lateMs: number;
};

/** [ET1]-[ET4] The running run as a screen shows it: done, running and expected stretches, and the finish. */
export function runningRun(state: ChamberState, now: number): RunningRun | null {
  const { run } = state;
  if (run === null) return null;
  const { startedAt, recipe, load } = run;
  const learned = state.learned.find((each) => each.recipe === recipe);
  const expected = learned ? expectedOf(state, learned) : [];
  const finish = learned && expected.length > 0 ? finishOf(state, expected, now) : null;
  const basis = finish && learned ? { ...finish, basis: basisOf(state, learned) } : null;
  return {
    run: run.run,
    startedAt,
    recipe,
    load,
    finish: basis,
    stretches: [...doneStretches(run), ...comingStretches(state, expected, now)],
    holes: [...run.holes],
  };
}

/** The last run as a screen shows it until the chamber is opened. */
export function finishedRun(last: OpenRun): RunningRun {
  const { run, startedAt, recipe, load } = last;
  return { run, startedAt, recipe, load, finish: null, stretches: doneStretches(last), holes: [...last.holes] };
}

function doneStretches(run: OpenRun): RunStretch[] {
  return run.phases.map(({ phase, step, from, to }) => ({ phase, step, from, to, expected: false }));
}

/** [ET1] The running stretch first, then those after it, by the order in which they were learned. */
function expectedOf(state: ChamberState, learned: Learned): readonly Expected[] {
  const keys = Object.keys(learned.durations).filter((key) => key.includes('/'));
  const here = keys.indexOf(stretchKey(state.phase, state.step));
  const running = here < 0 ? [] : [spreadOf(keys[here] as string, learned, state)];
  const after = here < 0 ? keys.filter((key) => isLater(key, state)) : keys.slice(here + 1);
  return [...running, ...after.map((key) => spreadOf(key, learned, null))];
}

const ORDER: readonly Phase[] = ['pump-down', 'leak-test', 'gas-stabilisation', 'plasma', 'hold', 'purge', 'vent-delay', 'vent'];
const isLater = (key: string, state: ChamberState): boolean => ORDER.indexOf(key.split('/')[0] as Phase) > ORDER.indexOf(state.phase);

/** [ET3] */
function spreadOf(key: string, learned: Learned, running: ChamberState | null): Expected {
  const [phase = '', step = ''] = key.split('/');
  const values = ascending(learned.durations[key] ?? [0]);
  const stretch = { phase: phase as Phase, step: step === '' ? null : Number(step) };
  const told = running?.run?.stepDurationMs ?? null;
  if (running && phase === 'plasma' && told !== null) return { ...stretch, earlyMs: told, likelyMs: told, lateMs: told };
  return { ...stretch, earlyMs: percentile(values, 0.1), likelyMs: percentile(values, 0.5), lateMs: percentile(values, 0.9) };
}

/** [ET2] */
function finishOf(state: ChamberState, expected: readonly Expected[], now: number): { early: number; likely: number; late: number } {
  const end = (of: (each: Expected) => number): number => Math.round(endsOf(state, expected, now, of).at(-1) ?? now);
  return { early: end((each) => each.earlyMs), likely: end((each) => each.likelyMs), late: end((each) => each.lateMs) };
}

/** Where each expected stretch ends. */
function endsOf(state: ChamberState, expected: readonly Expected[], now: number, of: (each: Expected) => number): readonly number[] {
  const isRunning = expected[0]?.phase === state.phase && expected[0].step === state.step;
  let at = isRunning ? state.phaseSince : now;
  return expected.map((each, i) => {
    at = i === 0 ? Math.max(now, at + of(each)) : at + of(each);
    return at;
  });
}

function comingStretches(state: ChamberState, expected: readonly Expected[], now: number): readonly RunStretch[] {
  const { phase, step, phaseSince } = state;
  const ends = endsOf(state, expected, now, (each) => each.likelyMs).map(Math.round);
  const isRunning = expected[0]?.phase === phase && expected[0].step === step;
  const running: RunStretch[] = isInRun(phase) ? [{ phase, step, from: phaseSince, to: Math.max(phaseSince, now), expected: false }] : [];
  let from = Math.max(phaseSince, now);
  const coming = expected.map((each, i): RunStretch => {
    const stretch = { phase: each.phase, step: each.step, from, to: ends[i] ?? from, expected: true };
    from = stretch.to;
    return stretch;
  });
  return [...running, ...coming.slice(isRunning && coming[0]?.to === coming[0]?.from ? 1 : 0)];
}

function basisOf(state: ChamberState, learned: Learned): string {
  const runs = Math.max(0, ...Object.values(learned.durations).map((values) => values.length));
  const own = `${runs} earlier run${runs === 1 ? '' : 's'} of ${learned.recipe} in this chamber`;
  return state.phase === 'plasma' && state.run?.stepDurationMs ? `recipe step time and ${own}` : own;
}
