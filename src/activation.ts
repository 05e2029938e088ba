/**
 * Which facts count in alarm rates.
 * [AC1] Counted are activations that somebody saw begin, not shelved, suppressed by design or out of service, and no notices. (In the manner of ISA-18.2: annunciated
 *       alarms; a replay after a reconnect is none.)
 */
import type { AlarmEvent } from './event.ts';

/** [AC1] */
export function isActivation(event: AlarmEvent): boolean {
  return event.change === 'activated' && event.counted && !event.suppressed && !event.notice;
}
