/**
 * Stored events laid out for computing: per chamber, by time. Everything that is computed over a window starts from here.
 * [FA1] Facts are ordered by event time; of two state facts at the same moment the later committed one holds (late data heals history).
 */
import { isActivation } from './activation.ts';
import type { EventOf, StoredEvent } from './event.ts';
import { effectiveEntries, toldSpans, type Told } from './reason.ts';

export type StateFact = EventOf<'equipment-state'> & { readonly seq: number };
type RunFact = EventOf<'run-ended'> & { readonly seq: number };
export type AlarmFact = EventOf<'alarm'> & { readonly seq: number };

/** One chamber's facts, each list ascending by (at, seq). They may reach beyond any window on both sides. */
export type ChamberFacts = {
  readonly chamber: string;
  readonly states: readonly StateFact[];
  readonly runs: readonly RunFact[];
  readonly alarms: readonly AlarmFact[];
  /** Those of them that count in alarm rates. */
  readonly activations: readonly AlarmFact[];
  /** The alarm facts by code. */
  readonly alarmsByCode: ReadonlyMap<string, readonly AlarmFact[]>;
  /** What persons told of it, the word that goes before others last. */
  readonly told: readonly Told[];
  /** Time of the last word from the chamber; what comes after is unobserved. */
  readonly heardUntil: number;
};

export type FactsInput = {
  /** Every chamber to account for, also those without any event. Order is kept. */
  readonly chambers: readonly string[];
  /**
   * Events in any order; kinds other than equipment-state, run-ended, alarm and those of reasons are ignored. Give those of the window and,
   * before it, the last equipment-state per chamber and the alarms of the last ten minutes and those still standing; after it, run-ended
   * events of one more day close the last cycles. Reason entries are those that reach into the window.
   */
  readonly events: readonly StoredEvent[];
  /** Facts from before the first of `events`, same kinds. Only a convenience: they are treated alike. */
  readonly opening?: readonly StoredEvent[];
  /** Time of the last word per chamber. A chamber left out was last heard at its last event. */
  readonly heardUntil: Readonly<Record<string, number>>;
  /** Where reason entries without an end do end (`Infinity`: not yet), for those that the events do not reach back to. */
  readonly openEnds?: ReadonlyMap<string, number>;
};

/** [FA1] Sorts events into facts per chamber. Events of chambers not listed are left out. */
export function fleetFacts(input: FactsInput): readonly ChamberFacts[] {
  const byChamber = new Map(
    input.chambers.map((chamber) => [
      chamber,
      { states: [] as StateFact[], runs: [] as RunFact[], alarms: [] as AlarmFact[], words: [] as StoredEvent[] },
    ]),
  );
  for (const list of [input.opening ?? [], input.events]) {
    for (const event of list) {
      const facts = byChamber.get(event.chamber);
      if (!facts) continue;
      if (event.kind === 'equipment-state') facts.states.push(event);
      else if (event.kind === 'run-ended') facts.runs.push(event);
      else if (event.kind === 'alarm') facts.alarms.push(event);
      else if (event.kind === 'reason' || event.kind === 'reason-withdrawn') facts.words.push(event);
    }
  }
  return [...byChamber].map(([chamber, { states, runs, alarms, words }]) => {
    const [s, r, a] = [inOrder(states), inOrder(runs), inOrder(alarms)];
    const last = Math.max(s.at(-1)?.at ?? -Infinity, r.at(-1)?.at ?? -Infinity, a.at(-1)?.at ?? -Infinity);
    return {
      chamber,
      states: s,
      runs: r,
      alarms: a,
      activations: a.filter(isActivation),
      alarmsByCode: Map.groupBy(a, (alarm) => alarm.code),
      told: words.length === 0 ? [] : toldSpans(effectiveEntries(words), s, input.openEnds),
      heardUntil: input.heardUntil[chamber] ?? last,
    };
  });
}

/** The index of the first fact at or after `at`, by bisection. */
export function firstAt(facts: readonly { readonly at: number }[], at: number): number {
  let [low, high] = [0, facts.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((facts[middle] as { at: number }).at < at) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** The facts with from <= at < to. */
export function within<T extends { readonly at: number }>(facts: readonly T[], from: number, to: number): readonly T[] {
  return facts.slice(firstAt(facts, from), firstAt(facts, to));
}

function inOrder<T extends { readonly at: number; readonly seq: number }>(facts: T[]): readonly T[] {
  const sorted = facts.every((fact, i) => i === 0 || isBefore(facts[i - 1] as T, fact));
  return sorted ? facts : dropRepeats(facts.sort((a, b) => a.at - b.at || a.seq - b.seq));
}

const isBefore = (a: { at: number; seq: number }, b: { at: number; seq: number }): boolean =>
  a.at < b.at || (a.at === b.at && a.seq < b.seq);

/** The same event given twice (once as an opening fact) is one fact. */
function dropRepeats<T extends { readonly seq: number }>(facts: readonly T[]): readonly T[] {
  return facts.filter((fact, i) => fact.seq !== facts[i - 1]?.seq);
}
