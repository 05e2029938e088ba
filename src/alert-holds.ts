/**
 * What goes on for too long at a chamber: down, a finished load that nobody fetches, an alarm that stands. One alert per time it does.
 * [HD1] Down is unscheduled downtime, through its sub-reasons: for so long without anybody at work on it, or for so much longer altogether.
 *       That maintenance has the chamber in its hands stops the first clock; given back unrepaired, it begins anew. Waiting is a vented chamber that nobody opens. Both count scheduled time only, and
 *       both are over with the first other state that is observed; time nobody observed is not counted.
 * [HD2] A standing alarm is stale after so many hours observed, in whatever shift (ISA-18.2: 24 h). Notices are none. One that is shelved,
 *       suppressed or out of service is looked after already: what still stands when that is over has its hours anew.
 * [HD3] What a person told as the reason is known: no alert as long as the entry lasts, and one that is open says who told what.
 * [HD4] A chamber down within a common cause is told with that one; what is still down when it is over has its own time from then.
 */
import { ended } from './alert-form.ts';
import { asleep, begun, isAsleep, paused, renewed, resumed, type Hold, type HoldClock, type HoldKind } from './alert-hold.ts';
import { holdAlert, overHeadline } from './alert-hold-words.ts';
import type { Alert, AlertAlarms } from './contract.ts';
import type { AlarmEvent, EventOf } from './event.ts';
import type { WatchRules } from './watch-rules.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

/** Keys: `<kind>/<chamber>`, of a stale alarm with its code. */
export type Holds = Readonly<Record<string, Hold>>;
type HoldNews = { readonly holds: Holds; readonly alerts: readonly Alert[] };

export function clockOf({ calendar, settings }: WatchRules, kind: HoldKind, isWorkedOn = false): HoldClock {
  switch (kind) {
    case 'down':
      return { calendar, limitMs: (isWorkedOn ? settings.down.repairLongerThanMin : settings.down.longerThanMin) * MINUTE_MS };
    case 'stale':
      return { calendar: null, limitMs: settings.stale.longerThanH * HOUR_MS };
    default:
      return { calendar, limitMs: settings[kind].longerThanMin * MINUTE_MS };
  }
}

type StateEvent = EventOf<'equipment-state'>;
/** The earliest alarm of the minute before, if there was one. */
type FirstOut = AlertAlarms['firstOut'];

/** [HD1] [HD2] A state began. */
export function holdsOnState(rules: WatchRules, holds: Holds, event: StateEvent, firstOut: FirstOut): HoldNews {
  const { chamber, at, state, reason } = event;
  if (state === 'unobserved') return { holds: mapped(holds, chamber, (hold) => paused(hold, at, clockFor(rules, hold))), alerts: [] };
  const isWaiting = state === 'standby' && reason === 'waiting for unload';
  const seen = mapped(holds, chamber, (hold) =>
    hold.kind === 'stale' && !isAsleep(hold) ? resumed(hold, at, clockOf(rules, 'stale')) : hold,
  );
  const down = turned(rules, seen, { kind: 'down', on: state === 'unscheduled-downtime', event, firstOut });
  const waiting = turned(rules, down.holds, { kind: 'waiting', on: isWaiting, event, firstOut: null });
  return { holds: waiting.holds, alerts: [...down.alerts, ...waiting.alerts] };
}

type Turn = { readonly kind: 'down' | 'waiting'; readonly on: boolean; readonly event: StateEvent; readonly firstOut: FirstOut };

function turned(rules: WatchRules, holds: Holds, { kind, on, event: { chamber, at, reason }, firstOut }: Turn): HoldNews {
  const key = `${kind}/${chamber}`;
  const hold = holds[key];
  if (!on) return hold === undefined ? { holds, alerts: [] } : over(holds, key, at);
  const clock = clockOf(rules, kind, isRepair(reason));
  if (hold === undefined) {
    const fresh = begun({ kind, chamber, since: at, what: reason, firstOut }, clock);
    return { holds: { ...holds, [key]: fresh }, alerts: [] };
  }
  return { holds: { ...holds, [key]: kind === 'down' ? workedOn(rules, hold, { at, reason }) : resumed(hold, at, clock) }, alerts: [] };
}

const isRepair = (reason: string): boolean => reason.startsWith('repair');
/** As it stands: of a repair the one of repairs. */
export const clockFor = (rules: WatchRules, { kind, what }: Hold): HoldClock => clockOf(rules, kind, isRepair(what));

/** [HD1] Another sub-reason, or observed again. */
function workedOn(rules: WatchRules, hold: Hold, { at, reason }: { readonly at: number; readonly reason: string }): Hold {
  const next = { ...hold, what: reason };
  if (isRepair(reason) === isRepair(hold.what)) return resumed(next, at, clockFor(rules, next));
  return isRepair(reason)
    ? resumed(paused(next, at, clockFor(rules, hold)), at, clockFor(rules, next))
    : renewed(next, at, clockFor(rules, next));
}

/** [HD2] An alarm's word. */
export function holdsOnAlarm(rules: WatchRules, holds: Holds, event: AlarmEvent): HoldNews {
  const { chamber, code, at, text, change, notice, suppressed } = event;
  const key = `stale/${chamber}/${code}`;
  const hold = holds[key];
  const clock = clockOf(rules, 'stale');
  if (hold === undefined) {
    if (change !== 'activated' || notice) return { holds, alerts: [] };
    const fresh = begun({ kind: 'stale', chamber, since: at, what: `${text} (${code})` }, clock);
    return { holds: { ...holds, [key]: suppressed ? asleep(fresh) : fresh }, alerts: [] };
  }
  if (change === 'cleared') return over(holds, key, at);
  if (suppressed === isAsleep(hold)) return { holds, alerts: [] };
  if (!suppressed) return { holds: { ...holds, [key]: renewed({ ...hold, asleep: false }, at, clock) }, alerts: [] };
  return { holds: { ...holds, [key]: asleep(hold) }, alerts: over(holds, key, at).alerts };
}

function over(holds: Holds, key: string, at: number): HoldNews {
  const { [key]: hold, ...others } = holds;
  const alert = hold?.alert ?? null;
  if (hold === undefined || alert === null) return { holds: others, alerts: [] };
  return { holds: others, alerts: [ended(alert, at, { headline: overHeadline(hold, at) })] };
}

type Fired = { readonly at: number; readonly covered: boolean };

/** Its time is up. [HD3] [HD4] */
export function fired(rules: WatchRules, hold: Hold, { at, covered }: Fired): { readonly hold: Hold; readonly alerts: readonly Alert[] } {
  const { told } = hold;
  const isTold = told !== null && (told.to === null || told.to > at);
  if (isTold && told.to !== null) return { hold: renewed(hold, told.to, clockFor(rules, hold)), alerts: [] };
  if (isTold || covered || !rules.settings[hold.kind].on) return { hold: { ...hold, due: null }, alerts: [] };
  const alert = holdAlert(rules, hold, at);
  return { hold: { ...hold, due: null, alert }, alerts: [alert] };
}

/** [HD4] The cause that covered these chambers is over. */
export const uncovered = (rules: WatchRules, holds: Holds, { chambers, at }: { chambers: readonly string[]; at: number }): Holds =>
  Object.fromEntries(
    Object.entries(holds).map(([key, hold]) => {
      const wasCovered = hold.kind === 'down' && hold.alert === null && hold.runsFrom !== null && chambers.includes(hold.chamber);
      return [key, wasCovered ? renewed(hold, Math.max(at, hold.since), clockFor(rules, hold)) : hold];
    }),
  );

/** [HD3] */
export function holdsOnReason(rules: WatchRules, holds: Holds, event: EventOf<'reason'>): HoldNews {
  const { chamber, at, to, entry, reason, by } = event;
  const alerts: Alert[] = [];
  const next = mapped(holds, chamber, (hold) => {
    if (hold.kind === 'stale' || (to !== null && to <= hold.since) || (hold.kind === 'waiting' && event.state !== 'standby')) return hold;
    const known = { ...hold, told: { entry, to } };
    if (hold.alert === null) return known;
    const facts = [...hold.alert.facts, { label: 'Told', value: `${reason}, by ${by}` }];
    const alert = { ...hold.alert, updatedAt: Math.max(hold.alert.updatedAt, at, event.enteredAt), facts };
    alerts.push(alert);
    return { ...known, alert };
  });
  return { holds: next, alerts };
}

/** [HD3] Taken back: its time begins anew. */
export function holdsOnWithdrawn(rules: WatchRules, holds: Holds, { chamber, entry, at }: EventOf<'reason-withdrawn'>): Holds {
  return mapped(holds, chamber, (hold) => {
    if (hold.told?.entry !== entry) return hold;
    const untold = { ...hold, told: null };
    return hold.alert === null && hold.runsFrom !== null ? renewed(untold, at, clockFor(rules, hold)) : untold;
  });
}

function mapped(holds: Holds, chamber: string, change: (hold: Hold) => Hold): Holds {
  const own = Object.entries(holds).filter(([, hold]) => hold.chamber === chamber && hold.kind !== 'no-data');
  return own.length === 0 ? holds : { ...holds, ...Object.fromEntries(own.map(([key, hold]) => [key, change(hold)])) };
}
