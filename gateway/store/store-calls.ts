/**
 * What crosses between the gateway's thread and the store's: plain rows and JSON text, so that the fast path clones little.
 */
import type { AlertAct, NewAct } from '../../src/alert-act.ts';
import type { Mute, NewMute } from '../../src/alert-mute.ts';
import type { Alert, Delivery, WeekLetter } from '../../src/contract.ts';
import type { AlertFilter, AuditRow, DeliveryFilter, EventQuery, LetterFilter, RunQuery, TraceSegment } from './store.ts';
import type { EventKind } from '../../src/event.ts';

export type EventRow = readonly [id: string, chamber: string, kind: EventKind, at: number, body: string];

export type CommitRows = {
  readonly events: readonly EventRow[];
  readonly snapshots: readonly (readonly [name: string, body: string])[];
  readonly alerts: readonly Alert[];
  readonly deliveries: readonly Delivery[];
  readonly audit: readonly AuditRow[];
};

/** Events as two columns: the bodies are one JSON array text, parsed once by the asker. */
export type EventColumns = { readonly seqs: readonly number[]; readonly bodies: string };

export type ReadCalls = {
  events(query: EventQuery): EventColumns;
  lastBefore(kind: EventKind, before: number, chambers: readonly string[], upToSeq?: number): EventColumns;
  standing(span: { readonly from: number; readonly to: number }, chambers: readonly string[]): EventColumns;
  runs(query: RunQuery): EventColumns & { readonly deviations: readonly (string | null)[] };
  snapshots(): [string, string][];
  extent(): { seq: number; first: number; last: number } | null;
  traces(chamber: string, from: number, to: number): TraceSegment[];
  alerts(filter: AlertFilter): Alert[];
  deliveries(filter: DeliveryFilter): Delivery[];
  lastDelivered(): [route: string, at: number][];
  acts(alerts: readonly string[]): AlertAct[];
  mutes(at: number): Mute[];
  allMutes(limit: number): Mute[];
  letters(filter: LetterFilter): WeekLetter[];
  audit(limit: number): AuditRow[];
};

export type WriteCalls = {
  /** The new sequence of each event row, null where it was known already. */
  append(rows: CommitRows): (number | null)[];
  appendTraces(segments: readonly TraceSegment[]): void;
  replaceTraces(merged: TraceSegment): void;
  forgetTraces(before: number, mostMs: number): void;
  actOnAlert(act: NewAct): Alert;
  addMute(mute: NewMute): Mute;
  endMute(id: number, by: { readonly at: number; readonly who: string }): Mute;
  saveDeliveries(deliveries: readonly Delivery[], audit: readonly AuditRow[]): void;
  addLetters(letters: readonly WeekLetter[]): void;
  saveLetter(letter: WeekLetter): void;
};

export type Call = { readonly id: number; readonly call: string; readonly args: readonly unknown[] };
export type Answer =
  | { readonly id: number; readonly value: unknown }
  | { readonly id: number; readonly fault: { readonly code: string; readonly message: string }; readonly broken: boolean };
