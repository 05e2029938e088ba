/**
 * What follows from the signals at one moment: flags that held turn, the phase moves, runs begin and end, time gets its owner.
 * [PH11] The chamber's phase is the controller's where it has a phase tag, else what the signals tell; both are followed all the time.
 */
import { runAt } from './run.ts';
import { FLAG_NAMES } from './chamber-state.ts';
import type { FlagName, Flags, StepWatch } from './chamber-state.ts';
import type { Change } from './change.ts';
import { handlingDue, releaseStops, stopByStandstill, updateEquipment } from './equipment-state.ts';
import { findByFlag, findMismatch, findShortPurge } from './finding.ts';
import { held, NEVER } from './flag.ts';
import type { Flag } from './flag.ts';
import { entered, nextPhase, phaseDue } from './phase.ts';
import type { Boundary } from './phase.ts';
import { isRefined, MISMATCH_MS, TAG_HOLD_MS } from './phase-tag.ts';
import { freeze, frozenDue } from './sight.ts';
import {
  isNextAfterPause,
  isStepEndTold,
  isStepTold,
  NO_WATCH,
  plasmaStepCount,
  STEP_HOLD_MS,
  settleMs,
  watched,
  watchFrom,
} from './plasma-step.ts';
import type { BoundarySource, Phase } from './equipment.ts';

const MOST_MOVES = 16;

/** How long a change must hold; the door cannot open under vacuum, so there it must hold longer. */
export function holdMs(name: FlagName, flags: Flags): number {
  switch (name) {
    case 'doorOpen':
    case 'gasOnDoor':
      return flags.atmosphere.on === false ? 5_000 : 3_000;
    case 'rf':
      return flags.rf.on ? 3_000 : 1_000;
    case 'atmosphere':
    case 'venting':
    case 'ventOnPump':
      return 1_000;
    default:
      return 2_000;
  }
}

/** Everything that is due at `now`. */
export function evaluate(change: Change, now: number): void {
  const { s, rules } = change;
  if (now >= frozenDue(s.presence, rules)) return freeze(change);
  turnFlags(change, now);
  followSignals(change, now);
  followTag(change, now);
  followStep(change, now);
  stopByStandstill(change);
  findMismatch(change, isByTag(change), now);
  updateEquipment(change, now);
  s.due = nextDue(change, now);
}

const isByTag = ({ rules, s }: Change): boolean => rules.phaseCodes !== null && s.tagPhase !== null;

function turnFlags(change: Change, now: number): void {
  const { s } = change;
  for (const name of FLAG_NAMES) {
    const flag = s.flags[name];
    const next = held(flag, holdMs(name, s.flags), now);
    if (next === flag) continue;
    s.flags = { ...s.flags, [name]: next };
    if (next.on && (name === 'ventOnPump' || name === 'gasOnDoor')) findByFlag(change, name, next.since);
    if (next.on && (name === 'venting' || name === 'atmosphere' || name === 'doorOpen')) findShortPurge(change, next.since);
    if (name === 'doorOpen') turnDoor(change, next);
    if (next.on && name === 'fluorine') s.sequence = { ...s.sequence, fluorinated: true };
  }
}

function turnDoor(change: Change, door: Flag): void {
  change.s.doorClosedAt = door.on ? null : door.since;
  if (door.on) releaseStops(change, 'door', door.since);
}

function followSignals(change: Change, now: number): void {
  const { s } = change;
  // Contradictory signals of a broken or hostile controller must not hold us up: the rest is for the next moment.
  for (let moves = 0; moves < MOST_MOVES; moves++) {
    const boundary = nextPhase(s.sequence, s.flags, now);
    if (!boundary) return;
    s.sequence = entered(s.sequence, boundary);
    if (!isByTag(change)) enterPhase(change, boundary);
  }
}

function followTag(change: Change, now: number): void {
  const { rules, s } = change;
  if (s.tagNext && now >= s.tagNext.at + TAG_HOLD_MS) {
    const { phase, at } = s.tagNext;
    s.tagPhase = phase;
    s.tagNext = null;
    enterPhase(change, { phase: isRefined(phase, s.sequence.phase, rules.phaseCodes) ? s.sequence.phase : phase, at, source: 'tag' });
    return;
  }
  if (!isByTag(change) || s.tagPhase === null) return;
  const { phase, since } = s.sequence;
  if (phase !== s.phase && isRefined(s.tagPhase, phase, rules.phaseCodes)) enterPhase(change, { phase, at: since, source: 'signal' });
}

/** The chamber enters a phase: its run and its books follow. */
export function enterPhase(change: Change, { phase, at, source }: Boundary): void {
  const { s } = change;
  const from = Math.max(at, s.phaseSince, s.floor);
  const had = s.run;
  runAt(change, phase, from, source);
  if (s.run && s.run !== had && s.run.run !== had?.run) releaseStops(change, 'run', from);
  const step = phase === 'plasma' ? firstStep(change) : null;
  s.phase = phase;
  s.phaseSince = from;
  s.phaseSource = source;
  s.step = step;
  s.stepWatch = watchIn(change, phase, s.run?.run === had?.run);
  if (step !== null) noteStep(change);
  if (phase === 'leak-test' && s.run) s.run = { ...s.run, engineering: true };
  tellPhase(change, source);
}

/** A number that tells only where a step ends is remembered through a pause of the same run. */
function watchIn({ rules, s }: Change, phase: Phase, isSameRun: boolean): StepWatch {
  const known = isSameRun && isStepEndTold(s.inputs, rules) ? s.stepWatch.marks : null;
  if (phase !== 'plasma') return known === null ? NO_WATCH : watchFrom(s.phaseSince, known);
  return watchFrom(s.phaseSince, isNextAfterPause(s.stepWatch, s.inputs, rules) ? null : known);
}

function tellPhase({ rules, s, events }: Change, source: BoundarySource): void {
  const { phase, step, phaseSince: at } = s;
  const stepCount = phase === 'plasma' ? plasmaStepCount(s.inputs, rules) : null;
  events.push({ kind: 'phase', chamber: rules.chamber, at, phase, step, stepCount, source, run: s.run?.run ?? null });
}

/** Plasma begins: the tag's step, or the last of this run or the one after it, or the first. */
function firstStep({ rules, s }: Change): number {
  const told = isStepTold(s.inputs, rules) ? s.inputs.recipeStep : null;
  if (told !== null && told >= 1) return told;
  const last = s.run?.phases.findLast(({ phase }) => phase === 'plasma')?.step;
  if (last == null) return 1;
  return isNextAfterPause(s.stepWatch, s.inputs, rules) ? last + 1 : last;
}

/** The controller's word on how many steps there are and how long this one lasts; zeros after an abort are no such word. */
export function noteStep({ rules, s }: Change): void {
  const { stepDurationS, recipeStep } = s.inputs;
  const stepCount = plasmaStepCount(s.inputs, rules);
  const isCounted = stepCount !== null || isStepEndTold(s.inputs, rules);
  if (recipeStep === null || recipeStep < 1 || !isCounted || stepDurationS === null || stepDurationS <= 0) return;
  if (s.run) s.run = { ...s.run, stepCount, stepDurationMs: stepDurationS * 1000 };
}

/** A new plasma step at `at`. */
export function enterStep(change: Change, step: number, at: number, source: BoundarySource): void {
  const { s } = change;
  const from = Math.max(at, s.phaseSince, s.floor);
  runAt(change, 'plasma', from, source);
  s.phaseSince = from;
  s.phaseSource = source;
  s.step = step;
  s.stepWatch = watchFrom(from);
  noteStep(change);
  tellPhase(change, source);
}

function followStep(change: Change, now: number): void {
  const { rules, s } = change;
  if (s.phase !== 'plasma' || isStepTold(s.inputs, rules)) return;
  const watch = watched(s.stepWatch, s, rules, now);
  s.stepWatch = watch;
  const source = isStepEndTold(s.inputs, rules) ? 'tag' : 'inferred';
  if (now >= watch.changedAt + STEP_HOLD_MS) enterStep(change, (s.step ?? 0) + 1, watch.changedAt, source);
}

/** The next moment at which time alone decides something. */
function nextDue(change: Change, now: number): number {
  const { rules, s } = change;
  let due = frozenDue(s.presence, rules);
  const consider = (at: number): void => {
    if (at > now && at < due) due = at;
  };
  for (const name of FLAG_NAMES) consider(s.flags[name].turningAt + holdMs(name, s.flags));
  for (const at of phaseDue(s.sequence, s.flags)) consider(at);
  if (s.tagNext) consider(s.tagNext.at + TAG_HOLD_MS);
  if (s.mismatchSince !== NEVER && !s.mismatchTold) consider(s.mismatchSince + MISMATCH_MS);
  if (s.phase === 'load' || s.phase === 'unload') consider(handlingDue(rules, s));
  if (s.phase === 'plasma' && !isStepTold(s.inputs, change.rules)) {
    consider(s.stepWatch.changedAt + STEP_HOLD_MS);
    if (s.stepWatch.marks === null) consider(s.stepWatch.marksAt + settleMs(s.inputs, change.rules));
  }
  return due;
}
