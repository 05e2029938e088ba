/**
 * What goes wrong and who puts it right: failures after so many productive hours, repairs by people who work in shifts, planned maintenance,
 * alarms that come and go without further cause, contacts that chatter.
 */
import { ALARM, ALARMS } from './alarm-catalogue.ts';
import { cause, causeFor } from './alarm-lines.ts';
import { afterWorking } from './calendar.ts';
import type { Stop } from './chamber-state.ts';
import { between, exponential, integer, logNormal, pick, uniform } from './random.ts';
import { abort, interrupt, isEarly, ventByHand } from './sequence.ts';
import { enterPhase, recordState } from './truth-record.ts';
import type { Unit } from './unit.ts';

const HOUR = 3_600_000;
/** Of processing; with handling and vents some 22 h productive. */
const MEAN_PROCESS_MS = 14 * HOUR;
const WEEK = 168 * HOUR;
/** A leak beyond this, found because the base pressure was not reached, is repaired. */
const REPAIRED_LEAK_MTORR_MIN = 60;
/** Alarms are reset so long before the chamber is handed back. */
export const RESET_MS = 90_000;

const FAILURES = [
  [ALARM.rf, 4],
  [ALARM.pump, 2],
  [ALARM.mfc, 1.5],
  [ALARM.gauge, 1],
  [ALARM.sealLeak, 0.7],
  [ALARM.interlock, 0.6],
] as const;

export const nextFailure = (u: Unit): void => {
  u.c.productiveMs = 0;
  u.c.failsAfterMs = exponential(u.c.dice.failure, MEAN_PROCESS_MS);
};

/** Called every step with the time gone by. */
export function stepUpkeep(u: Unit, dtMs: number): void {
  const { c } = u;
  if (c.run?.load != null && c.stop === null && isEarly(u) && c.at > c.run.from) {
    c.productiveMs += dtMs;
    if (c.productiveMs >= c.failsAfterMs) fail(u);
  }
  if (c.stop === null && c.alarmOn[ALARM.pumpdownTimeout] && c.health.leakMTorrMin > REPAIRED_LEAK_MTORR_MIN) trip(u, ALARM.sealLeak, null);
  if (c.stop !== null) stepStop(u);
  else if (c.maintenanceDueMs > 0 && isIdle(u)) beginMaintenance(u);
  if (c.at >= c.spuriousAt) spurious(u);
  if (c.chatterAt !== null && c.at >= c.chatterAt) chatter(u);
  if (c.doorFlickerUntil !== null && c.at >= c.doorFlickerUntil) c.doorFlickerUntil = null;
}

/** Nothing going on for two minutes. */
const isIdle = ({ c }: Unit): boolean => c.phase === 'idle' && !c.handling && c.startAt === null && c.at - c.phaseAt >= 120_000;

export function fail(u: Unit): void {
  nextFailure(u);
  trip(u, pick(u.c.dice.failure, FAILURES), null);
}

/** The chamber cannot run from this moment. Somebody comes, finds out, repairs. `at` null: after the usual times. */
export function trip(u: Unit, alarm: number, times: { repairAt: number; readyAt: number } | null): void {
  const { c } = u;
  cause(u, alarm, true);
  if (c.stop !== null) {
    c.stop.alarms.push(alarm);
    return;
  }
  const dice = c.dice.failure;
  const repairAt = times?.repairAt ?? afterWorking(c.at, 1000 * logNormal(dice, 1200, 0.6));
  const readyAt = times?.readyAt ?? afterWorking(repairAt, 1000 * Math.min(43_200, logNormal(dice, 4200, 1)));
  c.stop = { kind: 'failure', reason: ALARMS[alarm]!.code, repairAt, readyAt, alarms: [alarm], begun: false };
  dropHandling(u);
  if (alarm === ALARM.pump) {
    c.pumpRunning = false;
    interrupt(u);
  } else abort(u, 'aborted');
  recordState(u, c.at);
}

/** People step back; the door stays as it is. */
export function dropHandling(u: Unit): void {
  const { c } = u;
  if (!c.handling && c.startAt === null) return;
  c.handling = false;
  c.startAt = null;
  c.loadId = null;
  enterPhase(u, 'idle');
}

function beginMaintenance(u: Unit): void {
  const { c, world } = u;
  const shift = world.state.shift;
  if (shift === null || shift.kind === 'night') return;
  const readyAt = afterWorking(c.at, c.maintenanceDueMs);
  c.stop = { kind: 'maintenance', reason: 'planned maintenance', repairAt: c.at, readyAt, alarms: [], begun: false };
  c.maintenanceDueMs = 0;
  cause(u, ALARM.maintenanceDue, false);
  stepStop(u);
  recordState(u, c.at);
}

function stepStop(u: Unit): void {
  const { c } = u;
  const stop = c.stop!;
  if (!stop.begun) {
    if (c.at < stop.repairAt || (c.run !== null && c.phase !== 'hold')) return;
    stop.begun = true;
    c.mode = 'maintenance';
    cause(u, ALARM.waiting, false);
    if (c.phase === 'hold') ventByHand(u);
    else if (c.phase !== 'idle') enterPhase(u, 'idle');
  }
  if (c.run !== null) return;
  c.doorOpen = true;
  c.loadId = null;
  if (c.at >= stop.readyAt - RESET_MS) reset(u, stop);
  if (c.at >= stop.readyAt && !stop.alarms.some((alarm) => c.alarmOn[alarm])) ready(u);
}

/** The work is done: pump on, alarms reset. They need their time to clear. */
function reset(u: Unit, stop: Stop): void {
  u.c.pumpRunning = u.c.boosterRunning = true;
  for (const alarm of stop.alarms) cause(u, alarm, false);
}

function ready(u: Unit): void {
  const { c } = u;
  const stop = c.stop!;
  c.doorOpen = false;
  if (stop.kind === 'maintenance' || stop.alarms.includes(ALARM.sealLeak)) putRight(u);
  if (stop.kind === 'maintenance') {
    c.service = ['LKT-05', 'CND-15'];
    nextFailure(u);
  } else if (stop.alarms.includes(ALARM.sealLeak)) c.service = ['LKT-05'];
  c.mode = 'auto';
  c.stop = null;
  c.idleSince = c.at;
  enterPhase(u, 'idle');
}

/** Faults that last until repaired are repaired now. */
function putRight(u: Unit): void {
  const { state } = u.world;
  for (const fault of state.faults) if (fault.chamber === u.design.index && fault.until === null) fault.until = state.now;
}

const SPURIOUS = ALARMS.map((entry, index) => [index, entry.rate] as const).filter(([, rate]) => rate > 0);
const SPURIOUS_PER_WEEK = SPURIOUS.reduce((sum, [, rate]) => sum + rate, 0);
const ANY_TIME = new Set([
  'PUMP_OIL_TEMP_HIGH',
  'GAS_SUPPLY_PRESSURE_LOW',
  'N2_PRESSURE_LOW',
  'CDA_LOW',
  'WATER_FLOW_LOW',
  'EXHAUST_FLOW_LOW',
  'DOOR_NOT_CLOSED',
]);

export const nextSpurious = (u: Unit): void => {
  u.c.spuriousAt = u.c.at + exponential(u.c.dice.failure, WEEK / SPURIOUS_PER_WEEK);
};

function spurious(u: Unit): void {
  const { c, world } = u;
  nextSpurious(u);
  const alarm = pick(c.dice.failure, SPURIOUS);
  const seconds = integer(c.dice.failure, 5, 200);
  const entry = ALARMS[alarm]!;
  if (world.state.shift === null || c.stop !== null || c.alarmRaw[alarm]) return;
  if (!ANY_TIME.has(entry.code) && c.phase !== 'plasma') {
    c.spuriousAt = c.at + 600_000;
    return;
  }
  causeFor(u, alarm, 1000 * (entry.onS + seconds));
  if (entry.effect === 'stop') abort(u, 'aborted');
}

/** A contact that flickers: the door switch for a second or two, or the water switch for some more. */
function chatter(u: Unit): void {
  const { c } = u;
  const dice = c.dice.failure;
  c.chatterAt = c.at + 1000 * Math.round(between(dice, 90, 180));
  if (c.stop !== null) return;
  if (c.chatterAlarm === ALARM.door) {
    if (c.doorOpen) return;
    c.doorFlickerUntil = c.at + (uniform(dice) < 0.7 ? 1000 : 2000);
    causeFor(u, ALARM.door, 2000);
  } else causeFor(u, c.chatterAlarm, 1000 * integer(dice, 4, 8));
}
