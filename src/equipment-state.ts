/**
 * Whose time it is, in the manner of SEMI E10 (six states, from memory): the first rule that matches, in this order. The calendar's
 * nonscheduled time is laid over later, and never here.
 * [ES1] Unobserved goes before everything: nobody knows.
 * [ES2] An alarm that keeps the chamber from running makes unscheduled downtime from its activation until all such alarms are gone and
 *       maintenance handed it back to automatic, or a new run starts.
 * [ES3] An alarm that stops a run makes unscheduled downtime from its activation inside the unfinished run until it is gone and the door was
 *       opened or the next run starts; so does a run that stands still under vacuum.
 * [ES4] Maintenance mode on a chamber that is not down is scheduled downtime; manual and service mode are engineering.
 * [ES5] A run is productive; one of an engineering recipe, or with a leak test in it, is engineering from its start.
 * [ES6] The door open in automatic mode is productive (load or unload) up to the handling limit, then standby.
 * [ES7] Everything else is standby: waiting for unload, parked under vacuum, idle.
 * [ES10] A machine that says it is out of service (OPC 40001-1 item state) in automatic mode is unscheduled downtime from then on: the example
 *       interpretation of SEMI E10 there, annex C. What it was out of service for, and whether that was planned, it does not say.
 * [ES11] Executing is evidence of running only for a chamber that tells nothing else; then it is productive. Its runs stay unknown.
 * [ES12] Not available (switched off, saving energy) is standby where nothing else is told, and says so.
 * [ES8] A state begins where its cause began, never before the state before it; it begins anew when its run begins or ends.
 * [ES9] Unscheduled downtime goes on through its sub-reasons, from tripped to repair and back: it is held since the first of them began.
 */
import type { ChamberRules } from './chamber-rules.ts';
import type { ChamberState, Stop } from './chamber-state.ts';
import type { Change } from './change.ts';
import { definitionOf, standingWith } from './alarm.ts';
import { NEVER, rawly } from './flag.ts';
import type { Flag } from './flag.ts';
import { tellsNoPhase } from './inputs.ts';
import { TOGETHER_MS } from './phase.ts';
import { isStandstill, isUnfinished } from './run.ts';
import type { BoundarySource, EquipmentState } from './equipment.ts';

type EquipmentNow = {
  readonly state: EquipmentState;
  readonly reason: string;
  readonly at: number;
  /** Where it is not that of the phase. */
  readonly source?: BoundarySource;
};

/** [ES1]-[ES12] Emits the state's beginning when it changed. */
export function updateEquipment({ rules, s, events }: Change, now: number, by: BoundarySource = s.phaseSource): void {
  const { state, reason, at, source = by } = equipmentNow(rules, s, now);
  const run = s.run?.run ?? null;
  const same = state === s.equipment.state && reason === s.equipment.reason;
  if (same && run === s.equipment.run) return;
  const since = Math.max(at, s.releasedAt, s.modeSince, s.floor, s.equipment.since, same ? s.phaseSince : 0);
  const goesOn = state === 'unscheduled-downtime' && s.equipment.state === state;
  s.equipment = { state, reason, since, heldSince: goesOn ? s.equipment.heldSince : since, run };
  events.push({ kind: 'equipment-state', chamber: rules.chamber, at: since, state, reason, source, run });
}

/** The first rule that matches, with the moment its cause began. */
function equipmentNow(rules: ChamberRules, s: ChamberState, now: number): EquipmentNow {
  const stop = s.down ?? s.stopped;
  if (stop) return stopped(s, stop);
  if (s.mode === 'maintenance') return { state: 'scheduled-downtime', reason: 'maintenance', at: s.modeSince };
  if (s.mode !== 'auto') return { state: 'engineering', reason: `${s.mode} mode`, at: s.modeSince };
  if (s.inputs.itemState === 'out-of-service') return told(s, 'unscheduled-downtime', ITEM_REASONS['out-of-service']);
  if (s.run) return running(s);
  if (s.phase === 'leak-test') return { state: 'engineering', reason: 'leak test', at: s.phaseSince };
  if (s.phase === 'load' || s.phase === 'unload') return handling(rules, s, now);
  if (s.inputs.itemState === 'executing' && tellsNoPhase(s.inputs)) return told(s, 'productive', ITEM_REASONS.executing);
  if (s.inputs.itemState === 'not-available' && s.phase === 'idle') return told(s, 'standby', ITEM_REASONS['not-available']);
  const reason = s.phase === 'wait-unload' ? 'waiting for unload' : s.phase === 'parked' ? 'parked under vacuum' : 'idle';
  return { state: 'standby', reason, at: s.phaseSince };
}

const ITEM_REASONS = {
  'out-of-service': 'out of service, says the machine',
  executing: 'executing, says the machine',
  'not-available': 'not available, says the machine',
} as const;

/** The machine's own item state changed: what held because of it ends here. */
export function itemTold({ s }: Change, at: number): void {
  s.itemSince = Math.max(at, s.floor);
  if ((Object.values(ITEM_REASONS) as readonly string[]).includes(s.equipment.reason)) s.releasedAt = s.itemSince;
}

/** [ES10]-[ES12] */
const told = (s: ChamberState, state: EquipmentState, reason: string): EquipmentNow => ({ state, reason, at: s.itemSince, source: 'tag' });

function stopped(s: ChamberState, stop: Stop): EquipmentNow {
  const word = s.mode === 'maintenance' || s.mode === 'service' ? 'repair' : stop === s.down ? 'tripped' : 'stopped';
  return { state: 'unscheduled-downtime', reason: `${word}: ${stop.text}`, at: stop.since };
}

/** [ES5] */
function running(s: ChamberState): EquipmentNow {
  const engineering = s.run?.engineering === true;
  const at = s.run?.startedAt ?? s.phaseSince;
  return engineering ? { state: 'engineering', reason: 'engineering run', at } : { state: 'productive', reason: 'run', at };
}

/** [ES6] */
function handling(rules: ChamberRules, s: ChamberState, now: number): EquipmentNow {
  const limit = s.phaseSince + rules.handlingLimitMs;
  if (now >= limit) return { state: 'standby', reason: 'door open', at: limit };
  return { state: 'productive', reason: 'load or unload', at: s.phaseSince };
}

/** When the handling limit falls. */
export const handlingDue = (rules: ChamberRules, s: ChamberState): number => s.phaseSince + rules.handlingLimitMs;

/** [ES2] [ES3] An alarm was activated. */
export function alarmStops(change: Change, code: string, at: number): void {
  const { rules, s } = change;
  const { effect, text } = definitionOf(rules, code);
  if (effect === 'none') return;
  const stop = stopOf(at, text);
  const unfinished = s.run !== null && isUnfinished(s.phase) && !isBurntOut(s, at);
  if (unfinished && s.run) s.run = { ...s.run, stopped: true };
  if (effect === 'down' && s.mode === 'auto') s.down ??= stop;
  else if (effect === 'stop' && unfinished) s.stopped ??= stop;
}

/** [ES3] The pump valve shut on an unfinished run: whatever stopped it, it cannot go on. */
export function stopByStandstill({ s }: Change): void {
  if (s.run === null || !isStandstill(s)) return;
  if (!s.run.interrupted) s.run = { ...s.run, interrupted: true };
  if (!s.down && !s.stopped) s.stopped = stopOf(s.phaseSince, 'run interrupted');
}

/** [ES2] Given back to automatic mode, or seen for the first time, with such an alarm standing: down from here. */
export function downByStanding({ rules, s }: Change, at: number, handedBack: boolean): void {
  const code = s.mode === 'auto' && !s.down ? standingWith(rules, s.alarms, 'down')[0] : undefined;
  if (code !== undefined) s.down = { ...stopOf(at, definitionOf(rules, code).text), handedBack };
}

/** Plasma was over before the alarm came, though purge is not told yet ([PH3]); an alarm together with its end is what ended it. */
function isBurntOut({ phase, flags: { rf, rfCalled } }: ChamberState, at: number): boolean {
  const isOver = rawly(rf) === false && rawly(rfCalled) !== true;
  return phase === 'plasma' && isOver && at > Math.max(offAt(rf), rfCalled.on === null ? 0 : offAt(rfCalled)) + TOGETHER_MS;
}

const offAt = ({ since, turningAt }: Flag): number => (turningAt === NEVER ? since : turningAt);

const stopOf = (since: number, text: string): Stop => ({ since, text, serviced: false, handedBack: false });

/** What may end a stop: an alarm cleared or a mode changed ('word'), the door opened, a new run started. */
type Release = 'word' | 'door' | 'run';

/** [ES2] [ES3] Lets go what no longer holds. */
export function releaseStops({ rules, s }: Change, by: Release, at: number): void {
  s.down = s.down && followed(s.down, s.mode);
  s.stopped = s.stopped && followed(s.stopped, s.mode);
  if (s.down && isOver(s, s.down, by, 'down', rules)) {
    s.down = null;
    s.releasedAt = at;
  }
  if (s.stopped && isOver(s, s.stopped, by, 'stop', rules)) {
    s.stopped = null;
    s.releasedAt = at;
  }
}

function followed(stop: Stop, mode: string): Stop {
  const inService = mode === 'maintenance' || mode === 'service';
  if (inService) return stop.serviced ? stop : { ...stop, serviced: true };
  return stop.serviced && mode === 'auto' ? { ...stop, handedBack: true } : stop;
}

function isOver(s: ChamberState, stop: Stop, by: Release, effect: 'stop' | 'down', rules: ChamberRules): boolean {
  if (standingWith(rules, s.alarms, effect).length > 0) return false;
  const isOpen = by === 'door' || s.flags.doorOpen.on === true;
  const opened = effect === 'stop' && isOpen && !stop.serviced && s.mode === 'auto' && s.run === null;
  return stop.handedBack || by === 'run' || opened;
}
