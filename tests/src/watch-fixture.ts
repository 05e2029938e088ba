/** Rules of the alert watch for tests: a plant that works always, the site file's defaults, and only the kinds wanted. */
import { initialWatch, watch, type WatchInput, type WatchState } from '../../src/alert-watch.ts';
import { alertRules } from '../../src/config-alerts.ts';
import { ALERT_KINDS, type Alert, type AlertKind } from '../../src/contract.ts';
import type { AlarmEvent, EventOf } from '../../src/event.ts';
import { LAG_MS, type WatchRules } from '../../src/watch-rules.ts';

export const CHAMBERS = ['PC-01', 'PC-02', 'PC-03'];

export function rulesWith(change: Partial<WatchRules> = {}, kinds: readonly AlertKind[] = ALERT_KINDS): WatchRules {
  const settings = alertRules.parse(Object.fromEntries(ALERT_KINDS.map((kind) => [kind, { on: kinds.includes(kind) }])));
  return {
    chambers: CHAMBERS,
    positions: [],
    utilities: [],
    servers: {},
    calendar: { zone: 'UTC', shifts: [], holidays: [] },
    settings,
    baselines: new Map(),
    lagMs: LAG_MS,
    ...change,
  };
}

export const MIN = 60_000;
export const HOUR = 60 * MIN;
/** A Wednesday, in minutes from noon UTC. */
export const NOON = Date.UTC(2026, 10, 25, 12);
export const at = (minutes: number): number => NOON + minutes * MIN;

type StateEvent = EventOf<'equipment-state'>;
export const stateOf = (minutes: number, state: StateEvent['state'], reason = 'idle', chamber = 'PC-01'): StateEvent => ({
  ...{ kind: 'equipment-state', chamber, at: at(minutes), state, reason, source: 'signal', run: null },
});
export const down = (minutes: number, chamber = 'PC-01', reason = 'tripped: RF generator fault'): StateEvent =>
  stateOf(minutes, 'unscheduled-downtime', reason, chamber);
export const idle = (minutes: number, chamber = 'PC-01'): StateEvent => stateOf(minutes, 'standby', 'idle', chamber);
export const silent = (minutes: number, chamber = 'PC-01'): StateEvent => stateOf(minutes, 'unobserved', 'no data', chamber);

export const alarm = (minutes: number, code = 'RF_FAULT', part: Partial<AlarmEvent> = {}): AlarmEvent => ({
  ...{ kind: 'alarm', chamber: 'PC-01', at: at(minutes), code, text: `text of ${code}`, priority: 'medium', notice: false },
  ...{ change: 'activated', counted: true, suppressed: false },
  ...part,
});
export const cleared = (minutes: number, code = 'RF_FAULT', chamber = 'PC-01'): AlarmEvent =>
  alarm(minutes, code, { change: 'cleared', chamber });
export const tick = (minutes: number): WatchInput => ({ kind: 'tick', at: at(minutes) });

export const reason = (minutes: number, part: Partial<EventOf<'reason'>> = {}): EventOf<'reason'> => ({
  ...{ kind: 'reason', chamber: 'PC-01', at: at(minutes), entry: 'e1', to: null, state: 'unscheduled-downtime', reason: 'pump exchange' },
  ...{ note: '', by: 'A. Brandt', enteredAt: at(minutes), downtime: 'repair', workedOn: [] },
  ...part,
});

export type Ran = { readonly all: readonly Alert[]; readonly last: readonly Alert[]; readonly state: WatchState };

/** Runs inputs through, as JSON between steps: all versions, and the last of each alert in the order of their begin. */
export function ran(inputs: readonly WatchInput[], rules = rulesWith()): Ran {
  let state = initialWatch();
  const all: Alert[] = [];
  for (const input of inputs) {
    const step = watch(rules, JSON.parse(JSON.stringify(state)) as WatchState, input);
    state = step.state;
    all.push(...step.alerts);
  }
  return { all, last: [...new Map(all.map((alert) => [alert.id, alert])).values()], state };
}

/** Kind, chamber, begin and end in minutes, null while open. */
export const told = (alerts: readonly Alert[]): unknown[] =>
  alerts.map(({ kind, chamber, startedAt, closedAt }) => [
    kind,
    chamber,
    (startedAt - NOON) / MIN,
    closedAt === null ? null : (closedAt - NOON) / MIN,
  ]);
