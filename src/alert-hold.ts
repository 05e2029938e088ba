/**
 * Something that must not go on for long, with a clock of its own: a chamber down, a load that waits, an alarm that stands, a chamber unheard.
 * [HL1] The clock of a hold counts the time that its rule counts: scheduled time, or all of it. While the hold is not observed it stands still.
 * [HL2] It is due at the moment its time is up. What is told of it says how it was then, whenever the news came.
 * [HL3] Its time is counted once more when it is due, because calendars and limits change. Where none is planned within sixty days, that is then.
 */
import type { Calendar } from './calendar.ts';
import type { Alert, AlertAlarms } from './contract.ts';
import { afterScheduled, scheduledMs } from './scheduled-time.ts';
import { DAY_MS } from './zone.ts';

const LOOK_AGAIN_MS = 60 * DAY_MS;

export type HoldKind = 'down' | 'waiting' | 'stale' | 'no-data';
export type Hold = {
  readonly kind: HoldKind;
  readonly chamber: string;
  readonly since: number;
  /** In words: the reason, the alarm. */
  readonly what: string;
  /** Time counted before `runsFrom`; null while the clock stands still. */
  readonly spentMs: number;
  readonly runsFrom: number | null;
  readonly due: number | null;
  readonly alert: Alert | null;
  readonly firstOut: AlertAlarms['firstOut'];
  /** The entry by which a person said why; `to` null: until it is over. */
  readonly told: { readonly entry: string; readonly to: number | null } | null;
  /** Somebody set it aside: no clock runs, observed or not. Absent in states of an older program. */
  readonly asleep?: boolean;
};

/** Null counts all time. */
export type HoldClock = { readonly calendar: Calendar | null; readonly limitMs: number };
type Begin = Pick<Hold, 'kind' | 'chamber' | 'since' | 'what'> & { readonly firstOut?: Hold['firstOut'] };

/** [HL1] [HL2] */
export function begun(begin: Begin, clock: HoldClock): Hold {
  const hold = { firstOut: null, ...begin, spentMs: 0, alert: null, told: null };
  return { ...hold, runsFrom: begin.since, due: dueAt(clock, begin.since, 0) };
}

/** [HL1] The clock begins anew: nothing that was before counts. */
export const renewed = (hold: Hold, at: number, clock: HoldClock): Hold => ({
  ...hold,
  spentMs: 0,
  runsFrom: at,
  due: hold.alert === null ? dueAt(clock, at, 0) : null,
});

/** [HL1] */
export function paused(hold: Hold, at: number, { calendar }: HoldClock): Hold {
  if (hold.runsFrom === null) return hold;
  return { ...hold, spentMs: hold.spentMs + counted(calendar, hold.runsFrom, at), runsFrom: null, due: null };
}

/** [HL1] */
export function resumed(hold: Hold, at: number, clock: HoldClock): Hold {
  if (hold.runsFrom !== null) return hold;
  return { ...hold, runsFrom: at, due: hold.alert === null ? dueAt(clock, at, hold.spentMs) : null };
}

/** Set aside until it is renewed; what was told of it is over. */
export const asleep = (hold: Hold): Hold => ({ ...hold, spentMs: 0, runsFrom: null, due: null, alert: null, asleep: true });
export const isAsleep = ({ asleep: is }: Hold): boolean => is === true;

/** [HL3] It was due, but by its clock of now its time is not up: as it is then. Null when it is up. */
export function notYet(hold: Hold, at: number, clock: HoldClock): Hold | null {
  if (hold.runsFrom === null) return null;
  const spentMs = hold.spentMs + counted(clock.calendar, hold.runsFrom, at);
  return spentMs >= clock.limitMs ? null : { ...hold, spentMs, runsFrom: at, due: dueAt(clock, at, spentMs) };
}

/** [HL2] [HL3] */
function dueAt({ calendar, limitMs }: HoldClock, from: number, spentMs: number): number {
  const left = Math.max(0, limitMs - spentMs);
  return calendar === null ? from + left : (afterScheduled(calendar, from, left) ?? from + LOOK_AGAIN_MS);
}

const counted = (calendar: Calendar | null, from: number, to: number): number =>
  calendar === null ? Math.max(0, to - from) : scheduledMs(calendar, from, to);
