/**
 * Beside the alarms that stand at a chamber: those that wait for an acknowledgement at the machine, and those that are kept from being annunciated.
 * [AO1] An alarm waits when the machine says that it is not acknowledged, standing or returned to normal (B and D in the manner of ISA-18.2); one
 *       that is shelved, suppressed or out of service does not. Those that stand come first, then by priority, the oldest first.
 * [AO2] It can be acknowledged from here only where its server's part of the site file allows it and the machine tells it as a condition.
 * [AO3] What is shelved, suppressed by design or out of service is told with what it is and until when, standing or not.
 * [AO4] A latched alarm whose process is back to normal waits for a reset at the machine: told apart, acknowledged or not.
 * [AO5] Earlier activations that wait for an acknowledgement of their own (branches) are told one by one, the oldest first.
 */
import { definitionOf } from './alarm.ts';
import type { ChamberRules } from './chamber-rules.ts';
import type { AlarmStand, ChamberState } from './chamber-state.ts';
import type { ChamberAlarms } from './contract.ts';
import { ALARM_PRIORITIES } from './equipment.ts';

type Alarms = ChamberState['alarms'];

/** [AO1]-[AO5] `acknowledges`: codes that may be acknowledged from here. */
export function chamberAlarms(rules: ChamberRules, alarms: Alarms, acknowledges: ReadonlySet<string>): ChamberAlarms {
  const waits = ({ acknowledged, suppressed }: AlarmStand): boolean => acknowledged === false && !suppressed;
  const named = (code: string, { since }: AlarmStand) => {
    const { text, priority, notice } = definitionOf(rules, code);
    return { code, text, priority, notice, since };
  };
  const all = Object.entries(alarms);
  const awaiting = all
    .filter(([, stand]) => waits(stand))
    .map(([code, stand]) => ({ ...named(code, stand), earlier: stand.branches.length, canAcknowledge: acknowledges.has(code) }));
  return {
    awaiting: awaiting.sort((a, b) => rank(a) - rank(b) || (a.since ?? 0) - (b.since ?? 0)),
    earlier: all
      .filter(([, { suppressed }]) => !suppressed)
      .flatMap(([code, stand]) => stand.branches.map((of) => ({ ...named(code, stand), of, canAcknowledge: acknowledges.has(code) })))
      .sort((a, b) => a.of - b.of),
    latched: all
      .filter(([, { latched, since, suppressed }]) => latched === true && since === null && !suppressed)
      .map(([code, stand]) => named(code, stand)),
    suppressed: all
      .filter(([, { suppressed }]) => suppressed)
      .map(([code, stand]) => ({ ...named(code, stand), as: [...stand.suppressedAs], until: stand.shelvedUntil })),
  };
}

/** [AO1] */
const rank = ({ since, priority, notice }: Pick<ChamberAlarms['awaiting'][number], 'since' | 'priority' | 'notice'>): number =>
  (since === null ? 10 : 0) + (notice ? ALARM_PRIORITIES.length : ALARM_PRIORITIES.indexOf(priority));
