/**
 * The judge's record: what each chamber really did, written from the plant's own acts and never from its tags. State words in the manner of
 * SEMI E10 (six states). Time outside the working calendar is nonscheduled unless a run is going on.
 */
import { ALARMS } from './alarm-catalogue.ts';
import type { PlantPhase } from './chamber-state.ts';
import { recipeOf } from './design.ts';
import type { Unit } from './unit.ts';

export function enterPhase(u: Unit, phase: PlantPhase, step: number | null = null): void {
  const { c, design, world } = u;
  const open = world.state.open[design.index]!;
  if (c.at > open.phaseAt)
    world.truth({ kind: 'phase', chamber: design.id, phase: open.phase, step: open.step, from: open.phaseAt, to: c.at });
  open.phase = phase;
  open.step = step;
  open.phaseAt = c.at;
  c.phase = phase;
  c.phaseAt = c.at;
  recordState(u, c.at);
}

export function endRun(u: Unit): void {
  const { c, design, world } = u;
  const run = c.run;
  if (run === null) return;
  const engineering = recipeOf(run.recipe).service;
  world.truth({
    kind: 'run',
    chamber: design.id,
    load: run.load,
    recipe: run.recipe,
    from: run.from,
    to: c.at,
    outcome: run.outcome,
    engineering,
  });
  c.run = null;
}

/** Looks at what the chamber is doing and closes the open state line when it is no longer so. */
export function recordState(u: Unit, at: number): void {
  const { design, world } = u;
  const open = world.state.open[design.index]!;
  const [state, reason] = stateNow(u);
  if (state === open.state && reason === open.reason) return;
  if (at > open.stateAt)
    world.truth({ kind: 'state', chamber: design.id, state: open.state, reason: open.reason, from: open.stateAt, to: at });
  open.state = state;
  open.reason = reason;
  open.stateAt = at;
}

function stateNow(u: Unit): readonly [string, string] {
  const { c, world } = u;
  if (world.state.shift === null && (c.run === null || c.stop !== null)) return ['nonscheduled', 'calendar'];
  if (c.stop !== null) return [c.stop.kind === 'maintenance' ? 'scheduled-downtime' : 'unscheduled-downtime', c.stop.reason];
  if (c.run !== null) return recipeOf(c.run.recipe).service ? ['engineering', c.run.recipe] : ['productive', 'run'];
  if (c.handling) return ['productive', 'handling'];
  return ['standby', c.phase === 'wait-unload' ? 'wait-unload' : 'idle'];
}

/** Ends every open phase and state at `at` and tells what still stands, for a record that stops there. */
export function closeTruth(u: Unit, at: number): void {
  const { design, world } = u;
  const open = world.state.open[design.index]!;
  if (at > open.phaseAt) world.truth({ kind: 'phase', chamber: design.id, phase: open.phase, step: open.step, from: open.phaseAt, to: at });
  if (at > open.stateAt)
    world.truth({ kind: 'state', chamber: design.id, state: open.state, reason: open.reason, from: open.stateAt, to: at });
  open.phaseAt = open.stateAt = Math.max(at, open.phaseAt);
  ALARMS.forEach(({ code }, alarm) => {
    if (u.c.alarmOn[alarm]) world.truth({ kind: 'alarm', chamber: design.id, code, from: u.c.alarmSince[alarm]!, to: null });
  });
}
