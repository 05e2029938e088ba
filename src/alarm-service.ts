/**
 * Alarms of a chamber in maintenance, where the site file takes them out of service then: a boolean or a bit tells only active and cleared.
 * [AG1] Only where the site file says so, in maintenance mode, and only alarms whose machine tells no acknowledgement: conditions have states of
 *       their own.
 * [AG2] Out of service begins and ends with the mode, or with the first word about an alarm if that comes later.
 */
import { alarmTold } from './alarm.ts';
import type { Change } from './change.ts';

/** [AG1] [AG2] */
export function takeOutOfService({ rules, s, events }: Change, codes: readonly string[], at: number): void {
  if (!rules.outOfServiceInMaintenance) return;
  for (const code of codes) {
    const stand = Object.hasOwn(s.alarms, code) ? s.alarms[code] : undefined;
    if (stand !== undefined && stand.acknowledged !== null) continue;
    const word = { code, side: 'out-of-service', is: s.mode === 'maintenance', at, eyesOpen: s.presence.word === 'heard' } as const;
    const { alarms, event } = alarmTold(rules, s.alarms, word);
    s.alarms = alarms;
    if (event) events.push(event);
  }
}
