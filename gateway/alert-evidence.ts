/** What lies around an alert and before it, gathered from committed facts: alarms in their order, episodes like it and what was said then. */
import {
  AFTERMATH_MS,
  evidenceSpan,
  followed,
  hasMoment,
  lostRuns,
  newRecipes,
  RECIPE_MEMORY_MS,
  similarAlerts,
  type Like,
} from '../src/alert-similar.ts';
import type { AlertEvidence, EvidenceAlarm, SimilarAlert } from '../src/alert-inbox.ts';
import type { Span } from '../src/calendar.ts';
import type { Alert, ReasonRow } from '../src/contract.ts';
import type { StoredEvent } from '../src/event.ts';
import { stateIntervals } from '../src/interval.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../src/zone.ts';
import type { Books } from './books.ts';
import type { Clock } from './clock.ts';
import type { AlarmAnswers } from './http/answers-port.ts';
import type { Plant } from './plant.ts';
import type { ReasonBook } from './reason-book.ts';
import type { Store } from './store/store.ts';

export type EvidenceParts = {
  readonly plant: Plant;
  readonly store: Store;
  readonly clock: Clock;
  readonly books: Books;
  readonly reasons: ReasonBook;
  readonly alarms: AlarmAnswers['alarms'];
};

const BEFORE_MS = 10 * MINUTE_MS;
/** Of a long episode the begin is what tells its cause. */
const LONGEST_SEQUENCE_MS = 2 * HOUR_MS;
const MOST_ALARMS = 120;
const READ_ALARMS = 2_000;
const SEARCHED = 200;
const CHANGES_BEFORE_MS = 7 * DAY_MS;
const RUNS_BEFORE = 1_000;

export async function openEvidence(parts: EvidenceParts, alert: Alert): Promise<AlertEvidence> {
  const span = evidenceSpan(alert, parts.clock.now());
  const chamber = alert.chamber ?? alert.alarms?.firstOut?.chamber ?? alert.together[0] ?? null;
  const known = chamber !== null && parts.plant.ids.includes(chamber) ? chamber : null;
  const [alarms, similar, before] = await Promise.all([
    sequence(parts, alert),
    likes(parts, alert),
    changes(parts, known, alert.startedAt),
  ]);
  return {
    ...span,
    chamber: hasMoment(alert.kind) ? known : null,
    alarms: alarms.slice(0, MOST_ALARMS),
    moreAlarms: Math.max(0, alarms.length - MOST_ALARMS),
    similar,
    before,
  };
}

async function sequence({ alarms, clock, plant }: EvidenceParts, alert: Alert): Promise<EvidenceAlarm[]> {
  const chambers = new Set(
    [alert.chamber, ...alert.together, alert.alarms?.firstOut?.chamber].filter((id) => plant.ids.includes(id ?? '')),
  );
  if (chambers.size === 0 || !hasMoment(alert.kind)) return [];
  const from = alert.startedAt - BEFORE_MS;
  const to = Math.min(alert.closedAt ?? Infinity, clock.now(), alert.startedAt + LONGEST_SEQUENCE_MS) + 1;
  const [only] = chambers;
  const rows = await alarms({ window: { from, to }, chamber: chambers.size === 1 ? (only ?? null) : null, limit: READ_ALARMS });
  const first = alert.alarms?.firstOut;
  return rows
    .filter((row) => chambers.has(row.chamber))
    .map(({ chamber, code, text, priority, notice, at, clearedAt, firstOut }) => ({
      ...{ chamber, code, text, priority, notice, at, clearedAt },
      isFirst: first ? first.chamber === chamber && first.code === code && first.at === at : firstOut?.isThis === true,
    }))
    .toReversed();
}

async function likes(parts: EvidenceParts, alert: Alert): Promise<SimilarAlert[]> {
  const { store } = parts;
  const code = alert.alarms?.firstOut?.code;
  const earlier = { to: alert.startedAt, limit: SEARCHED };
  const [here, elsewhere] = await Promise.all([
    store.alerts({ ...earlier, kinds: [alert.kind] }),
    code === undefined ? [] : store.alerts({ ...earlier, firstOut: code }),
  ]);
  const found = new Map([...here, ...elsewhere].map((one) => [one.id, one]));
  return Promise.all(similarAlerts(alert, [...found.values()]).map((like) => told(parts, like)));
}

async function told({ store, books, reasons, clock, plant }: EvidenceParts, like: Like): Promise<SimilarAlert> {
  const { alert, likeness } = like;
  const span = { from: alert.startedAt, to: Math.min(alert.closedAt + AFTERMATH_MS, clock.now()) };
  const chambers = [alert.chamber ?? alert.alarms?.firstOut?.chamber ?? ''].filter((id) => plant.ids.includes(id));
  const [acts, facts, runs] = await Promise.all([
    store.acts([alert.id]),
    books.facts(span, chambers),
    store.events({ chambers, kinds: ['run-ended'], ...span }),
  ]);
  const after = followed(alert, facts[0] === undefined ? [] : stateIntervals(facts[0], span, []));
  const { id, kind, chamber, headline, startedAt, closedAt } = alert;
  return {
    ...{ id, kind, chamber, headline, startedAt, closedAt, likeness },
    comments: acts.filter(({ deed }) => deed === 'commented'),
    told: reasons.rows(span, chambers).filter(holds).map(wordOf),
    followed: after && { state: after.state, reason: after.reason, from: after.from, to: after.to },
    lostRuns: lostRuns(alert, runs.filter(isRun)),
  };
}

const holds = ({ withdrawnAt }: ReasonRow): boolean => withdrawnAt === null;
const wordOf = ({ from, state, reason, note, by }: ReasonRow): SimilarAlert['told'][number] => ({ at: from, state, reason, note, by });
const isRun = (event: StoredEvent): event is Extract<StoredEvent, { kind: 'run-ended' }> => event.kind === 'run-ended';

async function changes({ store, reasons }: EvidenceParts, chamber: string | null, until: number): Promise<AlertEvidence['before']> {
  if (chamber === null) return [];
  const span: Span = { from: until - CHANGES_BEFORE_MS, to: until };
  const runs = await store.runs({ chambers: [chamber], from: span.from - RECIPE_MEMORY_MS, to: until, limit: RUNS_BEFORE });
  const recipes = newRecipes(
    runs.map(({ run }) => run),
    span.from,
  );
  const worked = reasons.rows(span, [chamber]).filter((row) => holds(row) && row.workedOn.length > 0);
  return [
    ...worked.map((row) => ({ at: row.from, what: 'maintenance' as const, text: workWords(row) })),
    ...recipes.map(({ at, recipe }) => ({ at, what: 'recipe' as const, text: `${recipe}, not run here in the week before` })),
  ].sort((a, b) => b.at - a.at);
}

const workWords = ({ reason, workedOn, note, by }: ReasonRow): string =>
  `${reason} on ${workedOn.join(', ')}${note === '' ? '' : `: ${note}`} (${by})`;
