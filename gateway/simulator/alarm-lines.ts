/**
 * The controller's alarm logic: on and off delays, and the ways an alarm is told: a boolean, a bit of a word, or a condition. A restart of
 * the controller clears what is no longer true.
 */
import { ALARMS } from './alarm-catalogue.ts';
import { tellAlarm } from './report.ts';
import type { Unit } from './unit.ts';

/** The cause of an alarm is there or gone. The alarm follows after its delay. */
export function cause(u: Unit, alarm: number, present: boolean): void {
  const { c } = u;
  if (c.alarmRaw[alarm] === present) return;
  c.alarmRaw[alarm] = present;
  c.alarmRawAt[alarm] = c.at;
  if (c.alarmOn[alarm] !== present) c.pendingAlarms++;
  else c.pendingAlarms--;
  const entry = ALARMS[alarm]!;
  if ((present ? entry.onS : entry.offS) === 0) settleAlarms(u);
}

/** A cause that is there for a while and goes by itself. */
export function causeFor(u: Unit, alarm: number, durationMs: number): void {
  cause(u, alarm, true);
  u.c.alarmEnds.push({ alarm, at: u.c.at + durationMs });
  u.c.nextAt = Math.min(u.c.nextAt, u.c.at + 1000);
}

export function stepAlarms(u: Unit): void {
  const { c } = u;
  if (c.alarmEnds.length > 0) {
    const over = c.alarmEnds.filter((each) => each.at <= c.at);
    if (over.length > 0) {
      c.alarmEnds = c.alarmEnds.filter((each) => each.at > c.at);
      for (const { alarm } of over) cause(u, alarm, false);
    }
  }
  if (c.pendingAlarms > 0) settleAlarms(u);
}

function settleAlarms(u: Unit): void {
  const { c } = u;
  for (let i = 0; i < ALARMS.length; i++) {
    const raw = c.alarmRaw[i]!;
    if (raw === c.alarmOn[i]) continue;
    const delay = raw ? ALARMS[i]!.onS : ALARMS[i]!.offS;
    if (c.at - c.alarmRawAt[i]! >= delay * 1000) switchAlarm(u, i, raw);
  }
}

function switchAlarm(u: Unit, alarm: number, on: boolean): void {
  const { c, design, world } = u;
  c.alarmOn[alarm] = on;
  c.pendingAlarms--;
  if (on) c.alarmSince[alarm] = c.at;
  else world.truth({ kind: 'alarm', chamber: design.id, code: ALARMS[alarm]!.code, from: c.alarmSince[alarm]!, to: c.at });
  const word = alarm < 16 ? 0 : 1;
  const bit = 1 << (alarm & 15);
  c.word[word] = on ? c.word[word] | bit : c.word[word] & ~bit;
  tellAlarm(u, alarm, on);
}
