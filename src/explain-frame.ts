/**
 * The frame that every explanation stands in, whatever it is of: a window, a run, a control chart, a counter.
 * [XN2] What a number was made of is told newest first, one page at a time; the total is always told.
 */
import type { Span } from './calendar.ts';
import { SI_UNITS, type SiteUnits, workedText } from './explain-words.ts';
import type { Draft, Explanation } from './explanation.ts';

export type AskedNumber = {
  /** 'operational-utilization', 'time/standby', 'loss/standby/idle', 'cycle-time/50/ACT-AR-07' ... */
  readonly number: string;
  readonly chamber: string | null;
  /** [XN2] */
  readonly offset: number;
  readonly limit: number;
};

export type Frame = { readonly span: Span; readonly run?: string; readonly units?: SiteUnits };

/** [XN2] */
export function explanationOf(asked: AskedNumber, draft: Draft, { span, run, units = SI_UNITS }: Frame): Explanation {
  const { number, chamber, offset, limit } = asked;
  const newest = [...draft.madeOf].sort((a, b) => b.from - a.from || ((a.chamber ?? '') < (b.chamber ?? '') ? -1 : 1));
  return {
    percentile: null,
    also: [],
    worked: workedText(draft, units),
    madeOfUnit: draft.numerator?.unit ?? 'ms',
    ...draft,
    number,
    chamber,
    run: run ?? null,
    ...span,
    madeOf: newest.slice(offset, offset + limit),
    madeOfTotal: newest.length,
    units,
  };
}
