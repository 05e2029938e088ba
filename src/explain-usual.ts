/**
 * What earlier weeks or shifts make usual, explained one by one.
 * [XU1] The middle is the median of the weeks that may be compared with, the bounds are those of week-headline.ts [WH2].
 * [XU2] Of a shift it is the median over the same elapsed part of the earlier ones; those of which too little was observed are shown as left out.
 */
import type { Span } from './calendar.ts';
import { type Draft, type Evidence, PLAIN } from './explanation.ts';
import { type EarlierShift, usualShift } from './fleet-strip.ts';
import type { Usual } from './numbers.ts';
import { comparedLosses, type WeekSummary } from './week.ts';
import { comparedLoads, comparedUtilization, type ComparedWeek, usualOf } from './week-headline.ts';

/** An earlier week and when it was. */
export type EarlierWeek = WeekSummary & Span;

/** [XU1] 'loads', 'operational-utilization', 'loss/<state>/<cause>'; null while the weeks are too few. `observed`: of the week compared. */
export function explainUsual([what, ...rest]: readonly string[], previous: readonly EarlierWeek[], observed: number): Draft | null {
  switch (what) {
    case 'loads':
      return usualDraft('loads of earlier weeks', 'count', { weeks: comparedLoads(previous), previous });
    case 'operational-utilization':
      return usualDraft('operational utilization of earlier weeks', 'share', { weeks: comparedUtilization(previous), previous });
    case 'loss': {
      const [state = '', ...cause] = rest;
      const weeks = comparedLosses({ state, cause: cause.join('/') }, previous, observed);
      return usualDraft(`${cause.join('/')} in earlier weeks, on this week's observed time`, 'ms', { weeks, previous });
    }
    default:
      return null;
  }
}

type Compared = { readonly weeks: readonly ComparedWeek[]; readonly previous: readonly EarlierWeek[] };

function usualDraft(words: string, unit: Draft['unit'], { weeks, previous }: Compared): Draft | null {
  const usual: Usual | null = usualOf(weeks.map(({ value }) => value));
  if (usual === null) return null;
  return {
    ...PLAIN,
    words,
    unit,
    value: usual.median,
    low: usual.low,
    high: usual.high,
    bounds: 'where one more week would fall 99 times of 100',
    formula: 'median of the weeks; bounds: mean -+ t s sqrt(1 + 1/n), if weeks varied normally',
    base: `${usual.weeks} earlier weeks of which enough was observed`,
    source: "prediction interval, any textbook; Student's t, 99.5 %",
    numerator: null,
    madeOf: weeks.map(({ week, value }): Evidence => {
      const { from, to } = previous.find((one) => one.week === week) as EarlierWeek;
      return { chamber: null, from, to, state: null, text: week, counts: 'week', run: null, amount: value };
    }),
    madeOfUnit: unit,
  };
}

/** [XU2] 'loads' or 'operational-utilization' of earlier shifts; null while none can be compared with. */
export function explainUsualShift(what: string, earlier: readonly EarlierShift[]): Draft | null {
  const usual = usualShift(earlier);
  if (usual === null || !['loads', 'operational-utilization'].includes(what)) return null;
  const isLoads = what === 'loads';
  const unit = isLoads ? 'count' : 'share';
  const out = earlier.filter(({ counts }) => !counts);
  return {
    ...PLAIN,
    words: `${isLoads ? 'loads' : 'operational utilization'} usual by this time of the shift`,
    unit,
    value: isLoads ? usual.loads : usual.utilization,
    formula: 'median of the same elapsed part of the last ten shifts of this name',
    base: `${usual.shifts} earlier shifts of which 95 % or more was observed`,
    source: 'median; which shifts are compared with: own rule',
    numerator: null,
    excluded:
      out.length === 0
        ? []
        : [
            {
              label: `${out.length} shift${out.length === 1 ? '' : 's'}`,
              ms: null,
              why: 'less than 95 % of their operations time was observed',
            },
          ],
    madeOf: earlier.map(({ from, to, loads, utilization, counts }): Evidence => {
      const amount = isLoads ? loads : utilization.value;
      return { chamber: null, from, to, state: null, text: 'shift so far', counts: counts ? 'shift' : 'left out', run: null, amount };
    }),
    madeOfUnit: unit,
  };
}
