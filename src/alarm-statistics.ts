/**
 * All that is told of the alarms of a window, per operator position and per chamber: the targets, the floods, what stands, the worst and what a
 * delay would have made of them. In the manner of ISA-18.2 and EEMUA 191, from secondary texts, which ask for 30 days or more.
 * [AN1] A flood is told with its first alarm (the earliest of the ten minutes that made it one) and its most frequent ones, cut to the window.
 * [AN2] The mix of priorities is of counted activations; the targets are 80, 15 and 5 % of low, medium and high.
 * [AN3] How bunched alarms come is the variance over the mean of fixed ten-minute counts, over all observed periods. Beside the share of
 *       periods above ten stands what that mean would give if each alarm came by itself (Poisson), and at that variance (negative binomial).
 * [AN4] Notices, suppressed alarms and those found standing are counted apart and are in no rate.
 */
import type { AlarmFlood, AlarmLoad, AlarmStatistics, BadActor } from './alarm-answer.ts';
import { bouts } from './alarm-bouts.ts';
import { alarmCounts } from './alarm-counts.ts';
import { chatterIndex, chattersSlowly, fleetingCount, medianActiveMs } from './alarm-chatter.ts';
import { delayAdvice } from './alarm-delay.ts';
import { activeSpans } from './alarm-spans.ts';
import {
  alarmNumbers,
  type AlarmSubject,
  chatterHits,
  FLOOD_ABOVE,
  floods,
  type Flood,
  LOOK_BACK_MS,
  staleAlarms,
  TRAILING_MS,
  unseenOf,
} from './alarm-stats.ts';
import { suppressedIn, suppressionLoads } from './alarm-suppression.ts';
import { anyObservedMs, closerLines, loadLines, meanObservedMs, type Position, positionsOf } from './alarm-targets.ts';
import type { Span } from './calendar.ts';
import { ALARM_PRIORITIES } from './equipment.ts';
import { type AlarmFact, within } from './facts.ts';
import { negativeBinomialTail } from './negative-binomial.ts';
import { poissonTail } from './scan-statistic.ts';

const TOP_OF_FLOOD = 3;
const BOUTS_SHOWN = 3;
const SUPPRESSED_SHOWN = 50;
/** [AN2] */
export const MIX_TARGETS = { low: 0.8, medium: 0.15, high: 0.05 } as const;

/** [AN1]-[AN4] Without `positions` to look at (null), the chambers alone. */
export function alarmStatistics(subjects: readonly AlarmSubject[], positions: readonly Position[] | null, window: Span): AlarmStatistics {
  const placed = positions === null ? [] : positionsOf(subjects, positions);
  return {
    ...window,
    positions: placed.map(({ name, subjects: own }) => alarmLoad({ name, kind: 'position', subjects: own }, window)),
    chambers: subjects.map((one) => alarmLoad({ name: one.facts.chamber, kind: 'chamber', subjects: [one] }, window)),
  };
}

type Watched = Pick<AlarmLoad, 'name' | 'kind'> & { readonly subjects: readonly AlarmSubject[] };

function alarmLoad({ name, kind, subjects }: Watched, window: Span): AlarmLoad {
  const observedMs = meanObservedMs(subjects);
  const told = subjects.flatMap(({ facts }) => within(facts.alarms, window.from, window.to)).filter(({ change }) => change === 'activated');
  const times = subjects.flatMap(({ facts }) => within(facts.activations, window.from, window.to).map(({ at }) => at));
  const { peakAt, worst } = alarmNumbers(subjects, window);
  const suppressedAlarms = suppressedIn(subjects, window);
  const isSuppressed = ({ suppressed, notice }: AlarmFact): boolean => suppressed && !notice;
  return {
    name,
    kind,
    chambers: subjects.map(({ facts }) => facts.chamber),
    observedMs,
    coverage: window.to > window.from ? observedMs / (window.to - window.from) : null,
    activations: times.length,
    notices: told.filter(({ notice }) => notice).length,
    suppressed: told.filter(isSuppressed).length,
    foundStanding: told.filter((fact) => !fact.counted && !fact.notice && !isSuppressed(fact)).length,
    suppressions: [...suppressionLoads(suppressedAlarms)],
    suppressedAlarms: suppressedAlarms.slice(0, SUPPRESSED_SHOWN),
    peakAt,
    lines: [...loadLines(name, subjects, window), ...closerLines(name, subjects, window)],
    mix: mixOf(subjects, window),
    bunching: bunching(times, anyObservedMs(subjects) / TRAILING_MS),
    counts: alarmCounts(subjects, window),
    floods: [...floodsIn(subjects, window)],
    stale: staleIn(subjects, window),
    worst: worst.map((alarm) => badActor(alarm, subjects, window)),
  };
}

/** [AN2] */
function mixOf(subjects: readonly AlarmSubject[], window: Span): AlarmLoad['mix'] {
  const all = subjects.flatMap(({ facts }) => within(facts.activations, window.from, window.to));
  return ALARM_PRIORITIES.map((priority) => {
    const activations = all.filter((fact) => fact.priority === priority).length;
    return { priority, activations, share: all.length > 0 ? activations / all.length : null, target: MIX_TARGETS[priority] };
  });
}

/** [AN3] `periods` may be broken: what was observed in ten-minute lengths. */
export function bunching(times: readonly number[], periods: number): AlarmLoad['bunching'] {
  const counts = [...Map.groupBy(times, (time) => Math.floor(time / TRAILING_MS)).values()].map(({ length }) => length);
  if (times.length === 0 || periods < 2) return { dispersion: null, aboveTenAlone: null, aboveTenBunched: null };
  const mu = times.length / periods;
  // A broken number of periods may lie below the number of fixed ones that hold alarms: no less than none.
  const variance = Math.max(0, (counts.reduce((sum, count) => sum + count ** 2, 0) - periods * mu ** 2) / (periods - 1));
  const dispersion = variance / mu;
  const aboveTenAlone = poissonTail(FLOOD_ABOVE + 1, mu);
  const k = mu / (dispersion - 1);
  const aboveTenBunched = dispersion > 1 ? negativeBinomialTail(FLOOD_ABOVE + 1, { mu, k }) : aboveTenAlone;
  return { dispersion, aboveTenAlone, aboveTenBunched };
}

/** [AN1] */
function floodsIn(subjects: readonly AlarmSubject[], window: Span): readonly AlarmFlood[] {
  const facts = subjects.flatMap((one) => within(one.facts.activations, window.from - LOOK_BACK_MS, window.to));
  const all = subjects.length > 1 ? facts.sort((a, b) => a.at - b.at) : facts;
  return floods(all.map(({ at }) => at))
    .filter(({ from, to }) => to > window.from && from < window.to)
    .map((flood) => floodOf(flood, all, window));
}

function floodOf({ from, to, peak }: Flood, all: readonly AlarmFact[], window: Span): AlarmFlood {
  const inside = within(all, from - TRAILING_MS + 1, to);
  const first = inside[0] as AlarmFact;
  const byAlarm = [...Map.groupBy(inside, ({ chamber, code }) => `${chamber} ${code}`).values()].sort((a, b) => b.length - a.length);
  return {
    from: Math.max(from, window.from),
    to: Math.min(to, window.to),
    peak,
    activations: inside.length,
    startedBefore: from < window.from,
    goesOn: to > window.to,
    first: named(first),
    top: byAlarm.slice(0, TOP_OF_FLOOD).map((list) => {
      const { chamber, code, text } = named(list[0] as AlarmFact);
      return { chamber, code, text, count: list.length };
    }),
  };
}

const named = ({ chamber, code, text, at }: AlarmFact) => ({ chamber, code, text, at });

function staleIn(subjects: readonly AlarmSubject[], window: Span): AlarmLoad['stale'] {
  return staleAlarms(subjects, window).map(({ fact, span, observedMs }) => {
    const { chamber, code, text } = fact;
    return { chamber, code, text, since: span.from, observedMs, stands: span.to === window.to };
  });
}

function badActor(
  alarm: Omit<BadActor, 'medianActiveMs' | 'fleeting' | 'chatter' | 'bouts' | 'advice'>,
  subjects: readonly AlarmSubject[],
  window: Span,
): BadActor {
  const { chamber, code, text, priority, activations, share, standingMs } = alarm;
  const subject = subjects.find(({ facts }) => facts.chamber === chamber) as AlarmSubject;
  const unseen = unseenOf(subject.intervals);
  const spans = activeSpans(subject.facts.alarmsByCode.get(code) ?? [], window, unseen);
  const times = spans.map(({ from }) => from);
  return {
    ...{ chamber, code, text, priority, activations, share, standingMs },
    medianActiveMs: medianActiveMs(spans),
    fleeting: fleetingCount(spans),
    chatter: { hits: chatterHits(times).length, slow: chattersSlowly(spans), ...chatterIndex(times) },
    bouts: [...bouts(times)].sort((a, b) => b.activations - a.activations).slice(0, BOUTS_SHOWN),
    advice: delayAdvice({ spans, unseen, priority }),
  };
}
