/** The store without a disk: for tests, and for the same answers as SQLite (tests/gateway/store.test.ts holds both against one suite). */
import type { WeekLetter } from '../../src/contract.ts';
import { eventId, type StoredEvent } from '../../src/event.ts';
import { Fault } from '../../src/fault.ts';
import type { DeviationCode } from '../../src/run-facts.ts';
import { alertMemory } from './memory-alerts.ts';
import { deliveryMemory } from './memory-deliveries.ts';
import { hasText } from './memory-text.ts';
import type { AuditRow, Commit, EventQuery, RunQuery, Store, StoredRun, TraceSegment } from './store.ts';

const byTime = (a: StoredEvent, b: StoredEvent): number => a.at - b.at || a.seq - b.seq;

export function memoryStore(): Store {
  const events = new Map<string, StoredEvent>();
  const snapshots = new Map<string, string>();
  const letters = new Map<string, WeekLetter>();
  const audit: AuditRow[] = [];
  let segments: TraceSegment[] = [];
  let closed = false;
  /** Every call answers later, like a real store, and none after close. */
  const answer = <T>(work: () => T): Promise<T> =>
    Promise.resolve().then(() => {
      if (closed) throw new Fault('unavailable', 'The store is closed.');
      return work();
    });
  const { put, ...alertCalls } = alertMemory(answer, audit);
  const { born, ...outboxCalls } = deliveryMemory(answer, audit);
  const append = (commit: Commit): StoredEvent[] => {
    const fresh: StoredEvent[] = [];
    for (const event of commit.events) {
      if (events.has(eventId(event))) continue;
      const stored = { ...event, seq: events.size + 1 };
      events.set(eventId(event), stored);
      fresh.push(stored);
    }
    for (const [name, body] of commit.snapshots) snapshots.set(name, body);
    for (const alert of commit.alerts ?? []) put(alert);
    for (const delivery of commit.deliveries ?? []) born(delivery);
    audit.push(...(commit.audit ?? []));
    return fresh;
  };
  return {
    append: (commit) => answer(() => append(commit)),
    events: (query) => answer(() => select([...events.values()], query)),
    lastBefore: (kind, before, chambers, upToSeq = Infinity) =>
      answer(() =>
        chambers.flatMap((chamber) => {
          const held = [...events.values()].filter((e) => e.chamber === chamber && e.kind === kind && e.at < before && e.seq <= upToSeq);
          return held.sort(byTime).slice(-1);
        }),
      ),
    standing: (span, chambers) => answer(() => chambers.flatMap((chamber) => standing([...events.values()], span, chamber))),
    runs: (query) => answer(() => selectRuns([...events.values()], query)),
    snapshots: () => answer(() => new Map(snapshots)),
    extent: () =>
      answer(() => {
        const times = [...events.values()].map((e) => e.at);
        return times.length === 0 ? null : { seq: events.size, first: Math.min(...times), last: Math.max(...times) };
      }),
    appendTraces: (added) => answer(() => void segments.push(...added)),
    replaceTraces: (merged) =>
      answer(() => {
        segments = segments.filter((s) => s.chamber !== merged.chamber || s.from < merged.from || s.to > merged.to || s.to <= merged.from);
        segments.push(merged);
      }),
    traces: (chamber, from, to) =>
      answer(() => segments.filter((s) => s.chamber === chamber && s.to > from && s.from < to).sort((a, b) => a.from - b.from)),
    forgetTraces: (before, mostMs = Infinity) =>
      answer(() => {
        const until = Math.min(before, mostMs + segments.reduce((oldest, { to }) => Math.min(oldest, to), Infinity));
        segments = segments.filter(({ to }) => to > until);
      }),
    ...alertCalls,
    ...outboxCalls,
    letters: (filter) =>
      answer(() =>
        [...letters.values()]
          .filter(
            (l) =>
              (filter.week === undefined || l.week === filter.week) &&
              (filter.dueBefore === undefined || (l.state === 'waiting' && (l.nextAt ?? 0) < filter.dueBefore)),
          )
          .sort((a, b) => (a.week === b.week ? (a.id < b.id ? -1 : 1) : a.week < b.week ? 1 : -1)),
      ),
    addLetters: (added) => answer(() => added.forEach((letter) => letters.has(letter.id) || letters.set(letter.id, letter))),
    saveLetter: (letter) => answer(() => void (letters.has(letter.id) && letters.set(letter.id, letter))),
    audit: (limit) => answer(() => audit.toReversed().slice(0, limit)),
    close: () => {
      closed = true;
      return Promise.resolve();
    },
  };
}

function select(all: readonly StoredEvent[], query: EventQuery): StoredEvent[] {
  const found = all.filter(
    (e) =>
      (query.chambers === undefined || query.chambers.includes(e.chamber)) &&
      (query.kinds === undefined || query.kinds.includes(e.kind)) &&
      (query.from === undefined || e.at >= query.from) &&
      (query.to === undefined || e.at < query.to) &&
      (query.afterSeq === undefined || e.seq > query.afterSeq) &&
      (query.upToSeq === undefined || e.seq <= query.upToSeq),
  );
  found.sort(query.order === 'newest' ? (a, b) => byTime(b, a) : (a, b) => a.seq - b.seq);
  return found.slice(0, query.limit);
}

function selectRuns(all: readonly StoredEvent[], query: RunQuery): StoredRun[] {
  const records = new Map(all.flatMap((e) => (e.kind === 'run-record' ? [[e.run, e.record]] : [])));
  const found = all.flatMap((run): StoredRun[] => {
    const codes = run.kind === 'run-ended' ? records.get(run.run)?.deviations.map(({ code }) => code) : undefined;
    return run.kind === 'run-ended' ? [{ run, deviations: codes === undefined ? null : [...new Set(codes)] }] : [];
  });
  return found
    .filter((run) => isFound(run, query))
    .sort((a, b) => byTime(b.run, a.run))
    .slice(0, query.limit);
}

function isFound({ run, deviations }: StoredRun, query: RunQuery): boolean {
  const { deviation, after } = query;
  return (
    (query.chambers === undefined || query.chambers.includes(run.chamber)) &&
    (query.from === undefined || run.at >= query.from) &&
    (query.to === undefined || run.at < query.to) &&
    (query.load === undefined || hasText(run.load, query.load)) &&
    (query.recipe === undefined || hasText(run.recipe, query.recipe)) &&
    (query.outcome === undefined || run.outcome === query.outcome) &&
    (deviation === undefined || (deviations !== null && deviates(deviations, deviation))) &&
    (after === undefined || run.at < after.at || (run.at === after.at && run.seq < after.seq))
  );
}

function deviates(codes: readonly DeviationCode[], wanted: DeviationCode | 'any' | 'none'): boolean {
  if (wanted === 'any') return codes.length > 0;
  return wanted === 'none' ? codes.length === 0 : codes.includes(wanted);
}

function standing(all: readonly StoredEvent[], span: { readonly from: number; readonly to: number }, chamber: string): StoredEvent[] {
  const last = new Map<string, StoredEvent & { kind: 'alarm' }>();
  for (const event of select(all, { chambers: [chamber], kinds: ['alarm'], ...span }).sort(byTime)) {
    if (event.kind !== 'alarm') continue;
    if (event.change === 'activated' || event.change === 'cleared') last.set(event.code, event);
    else if (event.change === 'suppression') last.set(`${event.code}/suppression`, event);
  }
  return [...last.values()].filter(holds).sort((a, b) => a.seq - b.seq);
}

const holds = ({ change, suppressedAs = [] }: StoredEvent & { kind: 'alarm' }): boolean =>
  change === 'activated' || (change === 'suppression' && suppressedAs.length > 0);
