/**
 * The one reducer: live data, replay after a restart, tests and simulated years all go through `observe`.
 * [CH1] observe(state, reading) gives the next state and the facts found; a stored copy of the state continues exactly.
 * [CH2] Time is what the readings say: it only moves forward, and everything due by a reading's time is decided before the reading itself.
 * [CH3] The same word again changes nothing.
 * [CH4] A reading without meaning for phases, runs, states or alarms only moves time.
 */
import { alarmTold } from './alarm.ts';
import { takeOutOfService } from './alarm-service.ts';
import type { AlarmWord } from './alarm.ts';
import type { ChamberRules } from './chamber-rules.ts';
import type { ChamberState, Flags, Inputs } from './chamber-state.ts';
import { FLAG_NAMES } from './chamber-state.ts';
import { changeOf } from './change.ts';
import type { Change } from './change.ts';
import { alarmStops, itemTold, releaseStops } from './equipment-state.ts';
import { enterStep, evaluate, noteStep } from './evaluate.ts';
import type { ChamberEvent } from './event.ts';
import { NEVER, rawly, told, UNSEEN } from './flag.ts';
import { comeAlive, fallSilent, hear, NO_PRESENCE } from './hole.ts';
import { goodValue, NO_INPUTS, slotOf, wanted } from './inputs.ts';
import { FIRST_SEQUENCE } from './phase.ts';
import { phaseOfCode, tagTold } from './phase-tag.ts';
import { isStepTold, NO_WATCH } from './plasma-step.ts';
import type { Reading } from './reading.ts';
import { resync, setMode } from './resync.ts';
import { followCounts, NO_COUNTS } from './run-counts.ts';
import { beat, beaten, lostInQueue, recover, spoil } from './sight.ts';
import { alarmSignal } from './signal.ts';
import { STATE_VERSION } from './stored-state.ts';

export type { ChamberState } from './chamber-state.ts';
export type Observed = { readonly state: ChamberState; readonly events: readonly ChamberEvent[] };

const NONE: readonly ChamberEvent[] = Object.freeze([]);
const MOST_DECISIONS = 10_000;

export function initialChamber(_rules: ChamberRules): ChamberState {
  return {
    version: STATE_VERSION,
    now: 0,
    due: NEVER,
    inputs: NO_INPUTS,
    bad: [],
    flags: Object.fromEntries(FLAG_NAMES.map((name) => [name, UNSEEN])) as Flags,
    presence: NO_PRESENCE,
    sequence: FIRST_SEQUENCE,
    tagPhase: null,
    tagNext: null,
    phase: 'idle',
    phaseSince: 0,
    phaseSource: 'gap',
    step: null,
    stepWatch: NO_WATCH,
    floor: 0,
    run: null,
    lastRun: null,
    doorClosedAt: null,
    equipment: { state: 'unobserved', reason: 'no data', since: 0, heldSince: 0, run: null },
    before: null,
    mode: 'auto',
    modeSince: 0,
    itemSince: 0,
    down: null,
    stopped: null,
    releasedAt: 0,
    alarms: {},
    mismatchSince: NEVER,
    mismatchTold: false,
    purgeTold: false,
    learned: [],
    counts: NO_COUNTS,
  };
}

/** [CH1] */
export function observe(rules: ChamberRules, state: ChamberState, reading: Reading): Observed {
  return unremarkable(rules, state, reading) ?? remarkable(rules, state, reading);
}

/** The ordinary case, made cheap: a value that turns nothing while nothing is due. Null when there is more to do. */
function unremarkable(rules: ChamberRules, state: ChamberState, reading: Reading): Observed | null {
  const { at, signal } = reading;
  const { presence } = state;
  if (presence.word !== 'heard' || presence.silent || at >= state.due) return null;
  if (signal === 'controller.heartbeat' && presence.beatMs > 0) return beating(state, reading);
  const slot = slotOf(signal);
  if (slot === undefined) return isSpecial(signal) ? null : later(state, at);
  const value = goodValue(slot, reading);
  const isBad = state.bad.length > 0 && state.bad.includes(slot.key);
  if (value === undefined ? slot.telling && !isBad : isBad) return null;
  if (value === undefined || value === state.inputs[slot.key]) return later(state, at);
  if (slot.kind !== 'number' || slot.alone) return null;
  if (state.phase === 'plasma' && state.inputs.recipeStep === null) return null;
  const inputs: Inputs = { ...state.inputs, [slot.key]: value };
  for (const name of slot.flags) {
    const flag = state.flags[name];
    if ((wanted(name, inputs, rules, flag.on) ?? flag.on) !== rawly(flag)) return null;
  }
  return { state: { ...state, now: Math.max(at, state.now), inputs }, events: NONE };
}

/** Once a heartbeat is watched, the moment it would count as frozen is among what is due: looking too early does no harm. */
function beating(state: ChamberState, { value, quality, at }: Reading): Observed {
  if (quality !== 'good' || typeof value !== 'number') return later(state, at);
  const presence = beaten(state.presence, value, at);
  return { state: { ...state, now: Math.max(at, state.now), presence }, events: NONE };
}

const isSpecial = (signal: string): boolean =>
  signal.startsWith('alarm') || signal.startsWith('link.') || signal === 'controller.heartbeat';

/** [CH4] */
const later = (state: ChamberState, at: number): Observed => ({ state: at > state.now ? { ...state, now: at } : state, events: NONE });

function remarkable(rules: ChamberRules, state: ChamberState, reading: Reading): Observed {
  const change = changeOf(rules, state);
  const { s, events } = change;
  const { at, signal, value } = reading;
  const silence = signal === 'link.alive' && value === false;
  if (!silence) hear(change, reading);
  if (!silence || !s.presence.silent) advance(change, at);
  if (at > s.now) s.now = at;
  if (silence) fallSilent(change, at);
  else apply(change, reading);
  if (s.presence.word === 'heard') evaluate(change, s.now);
  followCounts(change);
  return { state: s, events: events.length === 0 ? NONE : events };
}

/** [CH2] Decides in order of time all that falls due up to `at`. */
function advance(change: Change, at: number): void {
  const { s } = change;
  for (let decisions = 0; s.due <= at; decisions++) {
    if (decisions > MOST_DECISIONS) throw new Error(`time stands still at ${s.due} for ${change.rules.chamber}`);
    const now = s.due;
    s.now = Math.max(s.now, now);
    if (s.presence.word === 'settling') resync(change, now);
    else evaluate(change, now);
  }
}

function apply(change: Change, reading: Reading): void {
  const { s } = change;
  const { signal, value, at, quality } = reading;
  const about = alarmSignal(signal);
  if (about !== null) {
    if (quality === 'good') applyAlarm(change, { ...about, is: value, at });
  } else if (signal === 'link.alive') {
    if (value === true) comeAlive(change, at);
  } else if (signal === 'link.hole') {
    if (typeof value === 'number') lostInQueue(change, value, at);
  } else if (signal === 'controller.heartbeat') {
    if (quality === 'good' && typeof value === 'number') beat(change, value, at);
  } else {
    applyInput(change, reading);
  }
  if (s.presence.word === 'settling') s.due = s.presence.settledAt;
}

function applyAlarm(change: Change, word: Omit<AlarmWord, 'eyesOpen'>): void {
  const { rules, s, events } = change;
  const eyesOpen = s.presence.word === 'heard';
  takeOutOfService(change, [word.code], word.at);
  const { alarms, event } = alarmTold(rules, s.alarms, { ...word, eyesOpen });
  s.alarms = alarms;
  if (!event) return;
  events.push(event);
  if (event.change === 'activated') alarmStops(change, event.code, Math.max(event.at, s.floor));
  else if (event.change === 'cleared') releaseStops(change, 'word', event.at);
}

function applyInput(change: Change, reading: Reading): void {
  const { s, rules } = change;
  const slot = slotOf(reading.signal);
  const value = slot && goodValue(slot, reading);
  const { at } = reading;
  if (!slot) return;
  if (value === undefined) return spoil(change, slot, at);
  const same = s.inputs[slot.key] === value;
  if (!same) s.inputs = { ...s.inputs, [slot.key]: value };
  recover(change, slot, at);
  if (same) return;
  if (s.presence.word !== 'heard') return;
  for (const name of slot.flags) {
    const flag = s.flags[name];
    const next = told(flag, wanted(name, s.inputs, rules, flag.on), at);
    if (next !== flag) s.flags = { ...s.flags, [name]: next };
  }
  if (slot.key === 'mode') setMode(change, at);
  if (slot.key === 'itemState') itemTold(change, at);
  if (slot.key === 'phaseCode') s.tagNext = tagTold(s, phaseOfCode(s.inputs.phaseCode, rules.phaseCodes), at);
  if (s.phase === 'plasma') applyStep(change, slot.key, at);
}

function applyStep(change: Change, key: keyof Inputs, at: number): void {
  const { s, rules } = change;
  const { recipeStep } = s.inputs;
  const isTold = key === 'recipeStep' && isStepTold(s.inputs, rules);
  if (isTold && recipeStep !== null && recipeStep >= 1 && recipeStep !== s.step) enterStep(change, recipeStep, at, 'tag');
  if ((key === 'stepDurationS' || key === 'stepCount') && at - s.phaseSince < STEP_NEWS_MS) noteStep(change);
}

/** A controller writes number, count and duration of a step one after another, not at once. */
const STEP_NEWS_MS = 5_000;
