/**
 * What the routes ask of the gateway. Every answer is of committed facts only. Times are epoch ms UTC, spans half-open.
 * A call fails with a Fault: `not-found` for an unknown name, `invalid` for a window nobody can answer, `unavailable` when the store is gone.
 */
import type {
  Alert,
  ChamberDetail,
  Delivery,
  DeliveryRow,
  Fleet,
  FoundRun,
  Health,
  ReasonRow,
  RouteLine,
  ServerLine,
  StateInterval,
  StopsPage,
  Trace,
  WeekLine,
  WeekMail,
} from '../../src/contract.ts';
import type { AlertEvidence, InboxAlert } from '../../src/alert-inbox.ts';
import type { Mute } from '../../src/alert-mute.ts';
import type { AlarmStatistics, JournalRow } from '../../src/alarm-answer.ts';
import type { JournalFilter } from '../../src/alarm-journal.ts';
import type { Counters } from '../../src/counter-answer.ts';
import type { ChamberDriftAnswer, DriftCell, DriftFleet } from '../../src/drift-answer.ts';
import type { RunOutcome } from '../../src/equipment.ts';
import type { StoredEvent } from '../../src/event.ts';
import type { RunRecordAnswer } from '../../src/run-answer.ts';
import type { DeviationCode, RunRecord } from '../../src/run-facts.ts';
import type { ReasonDraft } from '../../src/reason-entry.ts';
import type { Reason } from '../../src/reason-list.ts';
import type { SiteAnswer, SiteReload } from '../../src/site-answer.ts';
import type { Explanation } from '../../src/explanation.ts';
import type { Loss, WeekPage, SeenNumbers } from '../../src/numbers.ts';
import type { AlertFilter } from '../store/store.ts';

/** A window by its name in the site's calendar, or from..to. */
export const WINDOW_NAMES = ['now', 'shift', 'today', 'week'] as const;
type WindowName = (typeof WINDOW_NAMES)[number];
export type Window = { readonly name: WindowName } | { readonly from: number; readonly to: number };

/** `chamber` null means every chamber of the fleet. */
export type Scope = { readonly window: Window; readonly chamber: string | null };
export type Page = { readonly limit: number };
export type TraceQuery = {
  readonly chamber: string;
  /** Null asks for every quantity that this chamber has. */
  readonly signals: readonly string[] | null;
  readonly from: number;
  readonly to: number;
  /** Points per signal at most; minima and maxima survive the thinning, gaps stay gaps. */
  readonly maxPoints: number;
};

export interface LiveAnswers {
  fleet(): Fleet;
  servers(): readonly ServerLine[];
  health(): Health;
  chamber(id: string): Promise<ChamberDetail>;
  trace(query: TraceQuery): Promise<Trace>;
}

export interface BookAnswers {
  /** By chamber, then time; they cover the window without holes. */
  intervals(query: Scope): Promise<readonly StateInterval[]>;
  /** By cause, largest first, what nobody saw last. */
  losses(query: Scope): Promise<readonly Loss[]>;
  /** One chamber, or the fleet first and then each chamber. */
  numbers(query: Scope): Promise<readonly SeenNumbers[]>;
  events(query: { readonly after: number; readonly limit: number }): Promise<readonly StoredEvent[]>;
}

export type JournalSearch = Scope &
  JournalFilter & {
    /** Of the chambers of this operator position only; `not-found` where the site has none of that name. */
    readonly position?: string | undefined;
    /** Only rows that come after this one. */
    readonly after?: { readonly at: number; readonly seq: number } | undefined;
  };

/** `conflict` with the cure where the chamber refused, `forbidden` where the site file does not allow it. */
export interface AlarmActs {
  acknowledgeAlarm(act: {
    readonly chamber: string;
    readonly code: string;
    readonly by: string;
    readonly note: string;
    /** The earlier activation meant; the last one without it. */
    readonly of?: number | undefined;
  }): Promise<{ readonly text: string }>;
}

export interface AlarmAnswers {
  /** Journal of activations, newest first. */
  alarms(query: JournalSearch & Page): Promise<readonly JournalRow[]>;
  allAlarms(search: JournalSearch): AsyncIterable<readonly JournalRow[]>;
  /** Per operator position and per chamber; one chamber asked for, that alone. */
  alarmStatistics(scope: Scope): Promise<AlarmStatistics>;
}

export type RunSearch = Scope & {
  /** Part of the text. */
  readonly load?: string | undefined;
  readonly recipe?: string | undefined;
  readonly outcome?: RunOutcome | undefined;
  readonly deviation?: DeviationCode | 'any' | 'none' | undefined;
};
export type RecordedRow = { readonly run: FoundRun; readonly record: RunRecord | null };

export interface RunAnswers {
  /** Newest first. */
  runs(query: RunSearch & Page): Promise<readonly FoundRun[]>;
  /** All of them, newest first, in portions. */
  allRuns(search: RunSearch): AsyncIterable<readonly RecordedRow[]>;
  run(id: string): Promise<FoundRun>;
  /** `not-found` for a run that has none. */
  runRecord(id: string): Promise<RunRecordAnswer>;
}

export interface WeekAnswers {
  /** Newest first. */
  weeks(): Promise<readonly WeekLine[]>;
  week(isoWeek: string): Promise<WeekPage>;
}

export type ExplainQuery = {
  readonly number: string;
  readonly chamber: string | null;
  /** A run's own numbers need no window; those of now, such as a counter's, pass over it. */
  readonly span: Window | { readonly week: string } | { readonly run: string };
  /** As the number stood when this was the newest fact; null for now. */
  readonly asOf: number | null;
  readonly offset: number;
  readonly limit: number;
};
export interface ExplainAnswers {
  /** Fails `not-found` for a name that is no number of that window or run. */
  explain(query: ExplainQuery): Promise<Explanation>;
}

export interface PaperAnswers {
  /** PDF. */
  weekPaper(isoWeek: string): Promise<Uint8Array>;
  /** PDF; `not-found` for a run that has no record. */
  runPaper(id: string): Promise<Uint8Array>;
  weekMail(isoWeek: string): Promise<WeekMail>;
}

export type AlertWithDeliveries = Alert & { deliveries: Delivery[] };

/** As the store is asked, but for the page before, of which its last id is known. */
export type AlertQuery = Omit<AlertFilter, 'ids' | 'firstOut' | 'after'> & {
  /** Only alerts that come after this one. */
  readonly after?: string;
};

export interface AlertTables {
  /** Newest first. */
  alerts(query: AlertQuery): Promise<readonly InboxAlert[]>;
  alert(id: string): Promise<InboxAlert>;
  evidence(id: string): Promise<AlertEvidence>;
  /** Those over too, newest first. */
  mutes(limit: number): Promise<readonly Mute[]>;
}

/** `conflict` where somebody else was faster. */
export interface AlertActs {
  acknowledge(id: string, by: string): Promise<InboxAlert>;
  /** `from`: who has it now. */
  take(id: string, by: string, from?: string): Promise<InboxAlert>;
  giveBack(id: string, by: string): Promise<InboxAlert>;
  comment(id: string, by: string, text: string): Promise<InboxAlert>;
  mute(draft: MuteDraft): Promise<Mute>;
  unmute(id: number, by: string): Promise<Mute>;
}
export type MuteDraft = Pick<Mute, 'kind' | 'chamber' | 'until' | 'why'> & {
  readonly by: string;
  readonly shared?: string | null | undefined;
  readonly alert?: string | undefined;
};
export interface AlertAnswers extends AlertTables, AlertActs {}

export type DeliveryQuery = {
  readonly state?: Delivery['state'] | undefined;
  readonly route?: string | undefined;
  readonly limit: number;
};
export interface DeliveryAnswers {
  /** How each way out is doing. */
  routes(): readonly RouteLine[];
  /** Newest first. */
  deliveries(query: DeliveryQuery): Promise<readonly DeliveryRow[]>;
  /** Answers what became of it; `not-found` for a route that the site file does not have. */
  testRoute(route: string, by: string): Promise<Delivery>;
  /** `conflict` where it was not given up. */
  resend(id: string, by: string): Promise<Delivery>;
  setAside(id: string, by: string): Promise<Delivery>;
  /** All that a route gave up; how many. `conflict` where there is none. */
  resendAll(route: string, by: string): Promise<number>;
  setAllAside(route: string, by: string): Promise<number>;
}

export interface ReasonAnswers {
  /** What a person can choose from. */
  reasonList(): readonly Reason[];
  /** Entries that reach into the window, withdrawn ones too, the one entered last first. */
  reasons(query: Scope): Promise<readonly ReasonRow[]>;
  enterReason(draft: ReasonDraft): Promise<ReasonRow>;
  /** `conflict` when somebody took it back already. */
  withdrawReason(entry: string, by: string): Promise<ReasonRow>;
  stops(query: Scope): Promise<StopsPage>;
}

export type DriftQuery = {
  readonly chamber: string;
  /** Null: the one in which most has shifted. */
  readonly recipe: string | null;
  /** Null: the figure that stands out most. */
  readonly measure: string | null;
  /** Of figures that each gas line has; null: the line that stands out most. */
  readonly line: number | null;
};

export interface DriftTables {
  /** Each chamber's figures, the worst of recipes and lines. */
  drift(): Promise<DriftFleet>;
  /** Every figure of every recipe and line of every chamber. */
  driftVerdicts(): Promise<readonly DriftVerdictRow[]>;
  /** `not-found` for a recipe that was not run lately or a figure that does not exist. */
  chamberDrift(query: DriftQuery): Promise<ChamberDriftAnswer>;
  counters(): Promise<Counters>;
}

/** SI; `gain` turns it into the unit named. */
export type DriftVerdictRow = { readonly chamber: string; readonly cell: DriftCell; readonly symbol: string; readonly gain: number };

export interface SiteAnswers {
  site(): SiteAnswer;
  /** Fails `invalid` with a line per fault when the file is not taken over. */
  reloadSite(by: string): Promise<SiteReload>;
}

export interface Answers
  extends
    AlarmActs,
    SiteAnswers,
    AlarmAnswers,
    LiveAnswers,
    BookAnswers,
    RunAnswers,
    WeekAnswers,
    PaperAnswers,
    AlertAnswers,
    DeliveryAnswers,
    ExplainAnswers,
    DriftTables,
    ReasonAnswers {}
