/**
 * When alarms were not annunciated and by what: shelved, suppressed by design and out of service apart, in the manner of ISA-18.2 and OPC 10000-9.
 * [AU1] What holds after a fact holds until the alarm's next fact, and to the end of the window. Several may hold at once and each has its time.
 * [AU2] Unobserved time is in none of the times, though a span reaches over it.
 * [AU3] Time during which any of them holds is not annunciated: it is in no standing time and makes no alarm stale.
 * [AU4] A fact of an older program tells only that one of them held.
 */
import type { AlarmSuppressed, SuppressionLoad } from './alarm-answer.ts';
import { suppressionsOf } from './alarm.ts';
import type { Span } from './calendar.ts';
import type { StateInterval } from './contract.ts';
import { type Suppression, SUPPRESSIONS } from './equipment.ts';
import { type AlarmFact, type ChamberFacts, firstAt } from './facts.ts';

type SuppressionSpan = Span & {
  readonly as: Suppression;
  readonly first: AlarmFact;
  /** End of a timed shelving as it was last told. */
  readonly until: number | null;
  readonly goesOn: boolean;
  readonly activations: number;
};

/** [AU1] One alarm's facts, ascending; spans are cut at the window's end, not at its begin. */
export function suppressionSpans(facts: readonly AlarmFact[], until: number): readonly SuppressionSpan[] {
  const known = facts.slice(0, firstAt(facts, until));
  if (!known.some(({ suppressed, change }) => suppressed || change === 'suppression')) return [];
  return SUPPRESSIONS.flatMap((as) => spansOf(known, as, until));
}

function spansOf(facts: readonly AlarmFact[], as: Suppression, until: number): readonly SuppressionSpan[] {
  const out: SuppressionSpan[] = [];
  let open: Omit<SuppressionSpan, 'to' | 'goesOn'> | null = null;
  for (const fact of facts) {
    const holds = suppressionsOf(fact).includes(as);
    if (!holds && open !== null) out.push({ ...open, to: fact.at, goesOn: false });
    if (!holds) open = null;
    else open = { ...(open ?? { as, from: fact.at, first: fact, until: null, activations: 0 }), ...toldBy(fact, as) };
    if (open !== null && fact.change === 'activated') open = { ...open, activations: open.activations + 1 };
  }
  if (open !== null) out.push({ ...open, to: until, goesOn: true });
  return out;
}

const toldBy = ({ shelvedUntil }: AlarmFact, as: Suppression): { until?: number | null } =>
  as === 'shelved' && shelvedUntil !== undefined ? { until: shelvedUntil } : {};

type Subject = { readonly facts: ChamberFacts; readonly intervals: readonly StateInterval[] };

/** [AU1] [AU2] Every suppression that reaches into the window, the longest first. Notices are no alarms. */
export function suppressedIn(subjects: readonly Subject[], window: Span): readonly AlarmSuppressed[] {
  return subjects
    .flatMap(({ facts, intervals }) => {
      const unseen = intervals.filter(({ state }) => state === 'unobserved');
      return [...facts.alarmsByCode.values()].flatMap((alarms) =>
        suppressionSpans(alarms, window.to).flatMap((span) => rowOf(span, unseen, window)),
      );
    })
    .sort((a, b) => b.ms - a.ms || a.from - b.from);
}

function rowOf(
  { first, as, from, to, until, goesOn, activations }: SuppressionSpan,
  unseen: readonly Span[],
  window: Span,
): AlarmSuppressed[] {
  if (to <= window.from || first.notice) return [];
  const { chamber, code, text, counted, change } = first;
  const inside = { from: Math.max(from, window.from), to };
  const beginSeen = change !== 'suppression' || counted;
  return [{ chamber, code, text, as, from, to: goesOn ? null : to, until, beginSeen, ms: seenMs(inside, unseen), activations }];
}

function seenMs(span: Span, unseen: readonly Span[]): number {
  return unseen.reduce((left, { from, to }) => left - Math.max(0, Math.min(to, span.to) - Math.max(from, span.from)), span.to - span.from);
}

/** What each kind of suppression kept from being annunciated; those that never held are zero. */
export function suppressionLoads(rows: readonly AlarmSuppressed[]): readonly SuppressionLoad[] {
  return SUPPRESSIONS.map((as) => {
    const own = rows.filter((row) => row.as === as);
    return {
      as,
      alarms: new Set(own.map(({ chamber, code }) => `${chamber}\t${code}`)).size,
      times: own.length,
      ms: own.reduce((sum, { ms }) => sum + ms, 0),
      activations: own.reduce((sum, { activations }) => sum + activations, 0),
      atEnd: own.filter(({ to }) => to === null).length,
    };
  });
}
