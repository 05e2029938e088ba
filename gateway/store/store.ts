/**
 * What the gateway asks of its store. Facts are appended and never changed; alerts and deliveries change state; traces are bulk.
 * Every write resolves only once it is on disk (a commit that answered is durable across power loss). After a failed write the store is
 * closed for good and every call fails `unavailable`: the process must end, reopen and replay (never retry in place).
 */
import type { AlertAct, AlertDeed, NewAct } from '../../src/alert-act.ts';
import type { Mute, NewMute } from '../../src/alert-mute.ts';
import type { Alert, AlertKind, Delivery, Severity, WeekLetter } from '../../src/contract.ts';
import type { RunOutcome } from '../../src/equipment.ts';
import type { ChamberEvent, EventKind, RunEnded, StoredEvent } from '../../src/event.ts';
import type { DeviationCode } from '../../src/run-facts.ts';

/** Who did what to which thing; rows are only ever added. */
export type AuditRow = { readonly at: number; readonly who: string; readonly deed: string; readonly subject: string };

/** What the audit says of an act. */
export const auditOf = ({ at, who, deed, alert }: NewAct): AuditRow => ({ at, who, deed: AUDITED[deed], subject: alert });
const AUDITED: Readonly<Record<AlertDeed, string>> = {
  acknowledged: 'acknowledge alert',
  taken: 'take alert',
  'given back': 'give alert back',
  commented: 'comment on alert',
  muted: 'mute alert',
  unmuted: 'unmute alert',
};

/** One transaction: facts, the reducer states they led to, and the alerts they caused, together or not at all. */
export type Commit = {
  readonly events: readonly ChamberEvent[];
  /** Reducer states as JSON text by name: a chamber id, or another named state such as 'alert-watch'. */
  readonly snapshots: ReadonlyMap<string, string>;
  readonly alerts?: readonly Alert[];
  readonly deliveries?: readonly Delivery[];
  readonly audit?: readonly AuditRow[];
};

export type EventQuery = {
  readonly chambers?: readonly string[];
  readonly kinds?: readonly EventKind[];
  /** Half-open by event time: from <= at < to. */
  readonly from?: number;
  readonly to?: number;
  readonly afterSeq?: number;
  /** As the books stood when this was their newest fact. */
  readonly upToSeq?: number;
  /** Ordered by seq unless `order` says 'newest' (at, seq descending). */
  readonly order?: 'seq' | 'newest';
  readonly limit?: number;
};

export interface EventStore {
  /** Inserts what is new by id, ignores what is known; returns only the newly inserted, in order, with seq. Durable when resolved. */
  append(commit: Commit): Promise<readonly StoredEvent[]>;
  events(query: EventQuery): Promise<readonly StoredEvent[]>;
  /** The last event of that kind per chamber with at < `before`: what held when a window opened. */
  lastBefore(kind: EventKind, before: number, chambers: readonly string[], upToSeq?: number): Promise<readonly StoredEvent[]>;
  /**
   * Per chamber and alarm code the last activation in the span that no clearing in the span followed, and the last word in the span on its
   * suppression if any held: what stood at its end, and what was shelved, suppressed or out of service.
   */
  standing(span: { readonly from: number; readonly to: number }, chambers: readonly string[]): Promise<readonly StoredEvent[]>;
  snapshots(): Promise<ReadonlyMap<string, string>>;
  /** Highest seq and earliest/latest event time, null when empty. */
  extent(): Promise<{ readonly seq: number; readonly first: number; readonly last: number } | null>;
}

/** What is left out does not matter. `load` and `recipe` are parts of the text, small and capital letters (a to z) alike. */
export type RunQuery = {
  readonly chambers?: readonly string[];
  /** Half-open by the run's end. */
  readonly from?: number;
  readonly to?: number;
  readonly load?: string;
  readonly recipe?: string;
  readonly outcome?: RunOutcome;
  /** A code, or whether there is any; a run without a record has neither. */
  readonly deviation?: DeviationCode | 'any' | 'none';
  /** Only runs that come after this one in the order below: how the next page is asked for. */
  readonly after?: { readonly at: number; readonly seq: number };
  readonly limit: number;
};
/** `deviations` null where the run has no record. */
export type StoredRun = { readonly run: RunEnded & { readonly seq: number }; readonly deviations: readonly DeviationCode[] | null };

export interface RunStore {
  /** Newest first: by end, then by seq. */
  runs(query: RunQuery): Promise<readonly StoredRun[]>;
}

/** A packed stretch of one chamber's samples: see docs in gateway/store/trace-pack.ts for the bytes. */
export type TraceSegment = { readonly chamber: string; readonly from: number; readonly to: number; readonly packed: Uint8Array };

export interface TraceStore {
  /** Bulk data: durable within a minute, not at once. */
  appendTraces(segments: readonly TraceSegment[]): Promise<void>;
  /** Segments that overlap [from, to), oldest first. */
  traces(chamber: string, from: number, to: number): Promise<readonly TraceSegment[]>;
  /** One segment in place of all that lie inside its span, at once: how minutes become hours. */
  replaceTraces(merged: TraceSegment): Promise<void>;
  /** Segments that ended at or before, but of the oldest that are there no more than those of so many ms. */
  forgetTraces(before: number, mostMs?: number): Promise<void>;
}

export type AlertFilter = {
  readonly ids?: readonly string[];
  readonly state?: Alert['state'];
  /** Updated then or later. */
  readonly from?: number;
  /** Started before. */
  readonly to?: number;
  readonly kinds?: readonly AlertKind[];
  readonly severity?: Severity;
  /** About this chamber, alone or together with others. */
  readonly chamber?: string;
  readonly takenBy?: string;
  /** A part of its headline, or of what somebody said about it; small and capital letters (a to z) alike. */
  readonly words?: string;
  /** The alarm that came first. */
  readonly firstOut?: string;
  /** Only alerts that come after this one in the order below: how the next page is asked for. */
  readonly after?: { readonly startedAt: number; readonly id: string };
  readonly limit?: number;
};

export interface AlertStore {
  /** Newest first. */
  alerts(filter: AlertFilter): Promise<readonly Alert[]>;
}

/** What is left out does not matter. */
export type DeliveryFilter = {
  readonly ids?: readonly string[];
  readonly alerts?: readonly string[];
  readonly routes?: readonly string[];
  readonly states?: readonly Delivery['state'][];
  /** Waiting, and due before. */
  readonly dueBefore?: number;
  /** Delivered then or later. */
  readonly deliveredFrom?: number;
  /** Born last first, in place of born first. */
  readonly newest?: boolean;
  readonly limit?: number;
};

/** The outbox. Rows are born with their cause in a Commit, or here; from then on only their sender changes them. */
export interface DeliveryStore {
  deliveries(filter: DeliveryFilter): Promise<readonly Delivery[]>;
  /** Born or changed: all of them, and what is said of it in the audit, are one transaction. */
  saveDeliveries(deliveries: readonly Delivery[], audit?: readonly AuditRow[]): Promise<void>;
  /** When each route last got something through. */
  lastDelivered(): Promise<ReadonlyMap<string, number>>;
}

/** What persons do about alerts. Act, alert and audit row are one transaction. */
export interface ActStore {
  /** The alert afterwards. Fails `not-found` for an unknown alert, `conflict` where src/alert-act.ts says so. */
  actOnAlert(act: NewAct): Promise<Alert>;
  /** Of these alerts, oldest first. */
  acts(alerts: readonly string[]): Promise<readonly AlertAct[]>;
  /** Those on at that moment. */
  mutes(at: number): Promise<readonly Mute[]>;
  /** Those over too, newest first. */
  allMutes(limit: number): Promise<readonly Mute[]>;
  /** With the act of the alert it was made at; fails `not-found` for an unknown alert. */
  addMute(mute: NewMute): Promise<Mute>;
  /** Fails `not-found` for an unknown one, `conflict` for one that is over. */
  endMute(id: number, by: { readonly at: number; readonly who: string }): Promise<Mute>;
}

/** Of one week, or those that wait and are due. */
export type LetterFilter = { readonly week?: string; readonly dueBefore?: number };

export interface LetterStore {
  /** Newest week first. */
  letters(filter: LetterFilter): Promise<readonly WeekLetter[]>;
  /** Those not known by id; a letter is born once, and from then on only its sender changes it. */
  addLetters(letters: readonly WeekLetter[]): Promise<void>;
  saveLetter(letter: WeekLetter): Promise<void>;
}

export interface Store extends EventStore, RunStore, TraceStore, AlertStore, ActStore, DeliveryStore, LetterStore {
  /** What people did, newest first. */
  audit(limit: number): Promise<readonly AuditRow[]>;
  close(): Promise<void>;
}
