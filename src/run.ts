/**
 * Runs: one processing of one load, from pump-down onset to chamber back at atmosphere.
 * [RN1] A run begins with pump-down (or, where that was missed, with gas or plasma; where nobody heard it before, with purge or vent delay, which
 *       only a run has) in automatic mode; manual valve work is no run.
 * [RN2] A run ends when the chamber is back at atmosphere, opened, parked or idle, or is pumped down anew; clock and calendar never cut it.
 * [RN3] It was completed when every plasma step ran its time (98 %, as the recipe tags tell, where their number counts plasma steps alone, as
 *       plasma-step.ts says; else 97 % of this chamber's own median for that
 *       recipe, from three runs on), or when a leak test was done; otherwise aborted.
 * [RN4] Interrupted: it stood still under vacuum with the pump valve shut, unfinished. Not fully observed: its beginning or its end of plasma was not seen.
 * [RN5] A run's stretches follow one another from start to end; those without length are left out, and at most 200 are kept. The outcome is
 *       judged on all of them; a run of which some are missing teaches nothing.
 * [RN6] Observed time is the run's length less every hole inside it, exactly. The holes are kept with the run, 200 at most.
 * [RN7] The door-closed time before the run belongs to it when it was seen since the run before.
 */
import type { Change } from './change.ts';
import type { ChamberState, OpenRun } from './chamber-state.ts';
import { RUN_PHASES } from './equipment.ts';
import type { BoundarySource, Phase, RunOutcome } from './equipment.ts';
import type { PhaseSpan } from './event.ts';
import { learn, medianPlasmaMs } from './learned.ts';
import { matchesAny } from './recipe-name.ts';

const MOST_STRETCHES = 200;
const MOST_HOLES = 200;
const IN_RUN: readonly Phase[] = [...RUN_PHASES, 'hold', 'leak-test'];
const BEGINS_RUN: readonly Phase[] = ['pump-down', 'gas-stabilisation', 'plasma'];
const ENDS_RUN: readonly Phase[] = ['purge', 'vent-delay'];
const UNFINISHED: readonly Phase[] = ['pump-down', 'gas-stabilisation', 'plasma', 'hold'];

export const isInRun = (phase: Phase): boolean => IN_RUN.includes(phase);
export const isUnfinished = (phase: Phase): boolean => UNFINISHED.includes(phase);

/** [RN4] A hold with the pump valve shut from its beginning: not a pause, the sequence is gone. */
export const isStandstill = ({ phase, phaseSince, flags }: ChamberState): boolean =>
  phase === 'hold' && flags.pumping.on === false && flags.pumping.since < phaseSince + 5_000;

/** [RN1] [RN2] What a phase boundary means for the run; called before the phase itself is replaced. */
export function runAt(change: Change, phase: Phase, at: number, source: BoundarySource): void {
  const { s } = change;
  if (s.run) closeStretch(change, at);
  const anew = phase === 'pump-down' && isInRun(s.phase) && s.phase !== 'leak-test' && s.phase !== 'pump-down';
  if (s.run && (anew || !isInRun(phase))) endRun(change, at);
  const begins = BEGINS_RUN.includes(phase) || (source === 'gap' && ENDS_RUN.includes(phase));
  if (!s.run && s.mode === 'auto' && begins) startRun(change, at, source);
}

function startRun({ rules, s, events }: Change, at: number, source: BoundarySource): void {
  const { recipe, load } = s.inputs;
  const run = `${rules.chamber}/${new Date(at).toISOString()}`;
  s.run = {
    run,
    startedAt: at,
    source,
    recipe,
    load,
    engineering: matchesAny(recipe, rules.engineeringRecipes),
    doorClosedAt: s.doorClosedAt,
    phases: [],
    unobservedMs: 0,
    holes: [],
    stopped: false,
    interrupted: false,
    blind: source === 'gap',
    stepCount: null,
    stepDurationMs: null,
  };
  s.doorClosedAt = null;
  s.lastRun = null;
  s.purgeTold = false;
  events.push({ kind: 'run-started', chamber: rules.chamber, at, run, recipe, load, source });
}

/** [RN5] */
function closeStretch({ s }: Change, at: number): void {
  const run = s.run as OpenRun;
  const from = Math.max(s.phaseSince, run.startedAt);
  if (at <= from || !isInRun(s.phase)) return;
  const span: PhaseSpan = { phase: s.phase, step: s.step, from, to: at, source: s.phaseSource };
  s.run = run.phases.length < MOST_STRETCHES ? { ...run, phases: [...run.phases, span] } : { ...run, unkept: alsoUnkept(run.unkept, span) };
}

/** What the outcome needs of stretches that are not kept: their plasma. */
function alsoUnkept(before: OpenRun['unkept'], { phase, step, from, to }: PhaseSpan): NonNullable<OpenRun['unkept']> {
  const known = before ?? { step: null, stepMs: 0, plasmaMs: 0 };
  if (phase !== 'plasma') return known;
  const ms = to - from;
  return { step, stepMs: known.step === step ? known.stepMs + ms : ms, plasmaMs: known.plasmaMs + ms };
}

/** [RN6] Nobody had word from the chamber from `lostAt` to `at`. */
export function withHole(run: OpenRun, lostAt: number, at: number): OpenRun {
  const hole = { from: Math.max(lostAt, run.startedAt), to: at };
  if (hole.to <= hole.from) return run;
  return { ...run, unobservedMs: run.unobservedMs + hole.to - hole.from, holes: [...run.holes, hole].slice(0, MOST_HOLES) };
}

/** [RN2] [RN6] Ends the running run; its last stretch is already closed. */
export function endRun({ rules, s, events }: Change, at: number): void {
  const run = s.run as OpenRun;
  const outcome = outcomeOf(run, medianPlasmaMs(s.learned, run.recipe));
  const engineering = run.engineering || run.phases.some(({ phase }) => phase === 'leak-test');
  events.push({
    kind: 'run-ended',
    chamber: rules.chamber,
    at,
    run: run.run,
    startedAt: run.startedAt,
    outcome,
    recipe: run.recipe,
    load: run.load,
    engineering,
    doorClosedAt: run.doorClosedAt,
    phases: [...run.phases],
    observedMs: at - run.startedAt - run.unobservedMs,
    holes: [...run.holes],
  });
  if (outcome === 'completed' && run.unobservedMs === 0 && run.unkept === undefined) s.learned = learn(s.learned, run);
  s.lastRun = run;
  s.run = null;
}

/** [RN3] [RN4] */
export function outcomeOf(run: OpenRun, usualPlasmaMs: number | null): RunOutcome {
  if (run.interrupted) return 'interrupted';
  if (run.blind) return 'not-fully-observed';
  const plasma = run.phases.filter(({ phase }) => phase === 'plasma');
  const more = run.unkept !== undefined && run.unkept.plasmaMs > 0 ? run.unkept : null;
  const last = more ?? plasma.at(-1);
  if (!last) return run.phases.some(({ phase }) => phase === 'leak-test') ? 'completed' : 'aborted';
  if (run.stepCount !== null && run.stepDurationMs !== null) {
    const lastMs = totalMs(plasma.filter(({ step }) => step === last.step)) + (more?.stepMs ?? 0);
    return (last.step ?? 0) >= run.stepCount && lastMs >= 0.98 * run.stepDurationMs - 1_000 ? 'completed' : 'aborted';
  }
  if (run.stopped) return 'aborted';
  return usualPlasmaMs !== null && totalMs(plasma) + (more?.plasmaMs ?? 0) < 0.97 * usualPlasmaMs ? 'aborted' : 'completed';
}

const totalMs = (spans: readonly PhaseSpan[]): number => spans.reduce((sum, { from, to }) => sum + to - from, 0);
