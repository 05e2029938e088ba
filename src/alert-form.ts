/**
 * How an alert is made and ended, whichever rule it comes from.
 * [AF1] Its id is kind, subject and the moment the rule was met; nobody has touched it, and what a rule does not say is null or empty.
 * [AF2] It ends at a moment not before its begin, once; its last change is its end.
 */
import type { Alert } from './contract.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

type Said = Pick<Alert, 'kind' | 'severity' | 'headline' | 'rule'>;
type MaySay = Partial<Pick<Alert, 'chamber' | 'position' | 'cure' | 'together' | 'shares' | 'partOf' | 'alarms' | 'facts'>>;
type NewAlert = Said & MaySay & { readonly subject: string; readonly at: number };

const SILENT = {
  chamber: null,
  position: null,
  state: 'open',
  closedAt: null,
  acknowledgedAt: null,
  acknowledgedBy: null,
  takenAt: null,
  takenBy: null,
  cure: null,
  together: [],
  shares: null,
  partOf: null,
  alarms: null,
  facts: [],
} as const;

/** [AF1] */
export function newAlert({ subject, at, ...said }: NewAlert): Alert {
  const id = `${said.kind}/${subject}/${new Date(at).toISOString()}`;
  return { ...SILENT, together: [], facts: [], ...said, id, startedAt: at, updatedAt: at };
}

/** [AF2] */
export function ended(alert: Alert, at: number, change: Partial<Alert> = {}): Alert {
  const closedAt = Math.max(at, alert.startedAt);
  return alert.state === 'closed' ? alert : { ...alert, ...change, state: 'closed', closedAt, updatedAt: closedAt };
}

/** Such as `35 min`, `2 h 10 min`, `45 s`. */
export function lengthWords(ms: number): string {
  if (ms < 2 * MINUTE_MS) return `${Math.round(ms / 1000)} s`;
  if (ms < 2 * HOUR_MS) return `${Math.round(ms / MINUTE_MS)} min`;
  const [hours, minutes] = [Math.floor(ms / HOUR_MS), Math.floor((ms % HOUR_MS) / MINUTE_MS)];
  return hours >= 24 || minutes === 0 ? `${hours} h` : `${hours} h ${minutes} min`;
}

const formats = new Map<string, Intl.DateTimeFormat>();

/** A moment at the site, such as `25 Nov 14:02`. */
export function momentWords(at: number, zone: string): string {
  const words = { timeZone: zone, day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit', hourCycle: 'h23' } as const;
  const format = formats.get(zone) ?? new Intl.DateTimeFormat('en-GB', words);
  formats.set(zone, format);
  return format.format(at).replace(',', '');
}

const NAMED = 4;

/** At most four by name. */
export function listWords(names: readonly string[]): string {
  const rest = names.length - NAMED;
  return rest > 0 ? `${names.slice(0, NAMED).join(', ')} and ${rest} more` : names.join(', ');
}
