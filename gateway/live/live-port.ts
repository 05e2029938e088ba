/**
 * What the hub asks of the gateway's live view. Only committed facts are in it; a revision grows with every visible change.
 */
import type { AlertNews, Changes, Fleet, LiveValues } from '../../src/contract.ts';

/** The open alerts; the revision grows with every change. */
export interface AlertsView {
  readonly rev: number;
  /** What changed after that revision; all that are open for null. */
  news(after: number | null): AlertNews;
}

export interface LiveView {
  readonly boot: string;
  readonly rev: number;
  fleet(): Fleet;
  /** All that changed after `rev`; the difference of the newest revision is empty. Null for a revision this view cannot know. */
  since(rev: number): Changes | null;
  /** The last value of each signal of one chamber; null for an unknown chamber. */
  values(chamber: string): LiveValues | null;
}
