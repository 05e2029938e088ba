/**
 * Picking up after a hole, hole.ts [HO4] [HO5]: every flag as now seen, the phase afresh, the open run continued or given up.
 */
import { FLAG_NAMES } from './chamber-state.ts';
import type { ChamberState, FlagName, Flags } from './chamber-state.ts';
import { takeOutOfService } from './alarm-service.ts';
import type { Change } from './change.ts';
import { downByStanding, releaseStops, updateEquipment } from './equipment-state.ts';
import { RUN_PHASES } from './equipment.ts';
import type { Phase } from './equipment.ts';
import { enterPhase, evaluate } from './evaluate.ts';
import { NEVER } from './flag.ts';
import type { Flag } from './flag.ts';
import { wanted } from './inputs.ts';
import { entered, phaseAfterHole } from './phase.ts';
import { isRefined, phaseOfCode } from './phase-tag.ts';
import { isInRun, isUnfinished, withHole } from './run.ts';
import { isBlind } from './sight.ts';

/** The values have settled: what the chamber is known to do again, from the first word after the hole. */
export function resync(change: Change, now: number): void {
  const { rules, s } = change;
  const { firstHeardAt: at, lostAt } = s.presence;
  const first = s.before === null;
  if (isBlind(s)) {
    s.presence = { ...s.presence, word: 'lost', settledAt: NEVER, blind: true };
    s.due = NEVER;
    return;
  }
  s.presence = { ...s.presence, word: 'heard', settledAt: NEVER };
  s.before = null;
  s.floor = at;
  if (s.run) s.run = withHole(s.run, lostAt, at);
  s.flags = flagsSeen(change, at);
  setMode(change, at);
  downByStanding(change, at, false);
  const bySignals = phaseAfterHole(s.sequence.phase, s.flags);
  if (bySignals !== s.sequence.phase) s.sequence = entered(s.sequence, { phase: bySignals, at, source: 'gap' });
  if (s.flags.fluorine.on) s.sequence = { ...s.sequence, fluorinated: true };
  s.tagNext = null;
  s.tagPhase = phaseOfCode(s.inputs.phaseCode, rules.phaseCodes);
  const tag = s.tagPhase;
  const phase = tag === null || isRefined(tag, bySignals, rules.phaseCodes) ? bySignals : tag;
  follow(change, phase, at, first);
  updateEquipment(change, now, 'gap');
  evaluate(change, now);
}

function follow(change: Change, phase: Phase, at: number, first: boolean): void {
  const { s } = change;
  const other = s.run !== null && isOtherRun(s, phase);
  if (s.run && isUnfinished(s.phase) && !isUnfinished(phase)) {
    s.run = s.run.stopped ? { ...s.run, interrupted: true } : { ...s.run, blind: !s.run.interrupted };
  }
  if (s.run && (other || !isInRun(phase))) s.run = { ...s.run, blind: !s.run.interrupted };
  if (other) enterPhase(change, { phase: 'idle', at, source: 'gap' });
  if (first || other || phase !== s.phase) enterPhase(change, { phase, at, source: 'gap' });
}

/** [HO5] */
function isOtherRun({ run, inputs, phase: before }: ChamberState, phase: Phase): boolean {
  if (run === null || !isInRun(phase)) return false;
  if (run.load !== null && inputs.load !== null && run.load !== inputs.load) return true;
  if (run.recipe !== null && inputs.recipe !== null && run.recipe !== inputs.recipe) return true;
  return orderOf(phase) < orderOf(before);
}

function orderOf(phase: Phase): number {
  if (phase === 'hold') return RUN_PHASES.indexOf('plasma');
  return phase === 'leak-test' ? 0 : RUN_PHASES.indexOf(phase as (typeof RUN_PHASES)[number]);
}

function flagsSeen({ rules, s }: Change, at: number): Flags {
  const seen = FLAG_NAMES.map((name): [string, Flag] => {
    const flag = s.flags[name];
    const on = wanted(name, s.inputs, rules, flag.on);
    const same = on === null || on === flag.on;
    const turned = { on, since: on === false ? endSeen(name, flag, s.presence) : at, turningAt: NEVER };
    return [name, same ? { ...flag, turningAt: NEVER } : turned];
  });
  return Object.fromEntries(seen) as Flags;
}

/**
 * What turned off in the hole is known to be off from the first word on. Fluorine may have ended as the hole began, and what was on its way
 * off as the hole began ended then: finding.ts [FN1] must not call a purge short that may have been long.
 */
function endSeen(name: FlagName, { turningAt }: Flag, { lostAt, firstHeardAt }: ChamberState['presence']): number {
  if (name === 'fluorine') return Math.min(turningAt, lostAt);
  return name === 'pumping' ? Math.min(turningAt, firstHeardAt) : firstHeardAt;
}

/** The mode as last heard; a chamber without a mode tag is in automatic mode. */
export function setMode(change: Change, at: number): void {
  const { s } = change;
  const mode = s.inputs.mode ?? 'auto';
  if (mode === s.mode) return;
  const handedBack = s.mode === 'maintenance' || s.mode === 'service';
  s.mode = mode;
  s.modeSince = Math.max(at, s.floor);
  releaseStops(change, 'word', s.modeSince);
  downByStanding(change, s.modeSince, handedBack);
  takeOutOfService(change, Object.keys(s.alarms), s.modeSince);
}
