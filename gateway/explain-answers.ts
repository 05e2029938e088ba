/**
 * How a number came about, whatever it is of: a run, a control chart, a counter, this moment, or a window. The name says which; the explanation is
 * made in src/ from the same facts and by the same functions as the number.
 */
import { DRIFT_NUMBERS, type DriftNumber } from '../src/explain-drift.ts';
import { explain, type Beside } from '../src/explain.ts';
import { type AskedNumber, explanationOf } from '../src/explain-frame.ts';
import { explainNow, NOW_NUMBERS, type NowNumber } from '../src/explain-now.ts';
import { explainRun } from '../src/explain-run.ts';
import { explainUsualShift } from '../src/explain-usual.ts';
import { COUNTER_NUMBERS, type CounterNumber } from '../src/explain-use.ts';
import { weekWindow, type Span } from '../src/calendar.ts';
import type { Fleet } from '../src/contract.ts';
import type { Draft, Explanation } from '../src/explanation.ts';
import { Fault } from '../src/fault.ts';
import type { EarlierShift } from '../src/fleet-strip.ts';
import type { FleetWindow } from '../src/window.ts';
import type { Clock } from './clock.ts';
import type { CounterAnswers } from './counter-answers.ts';
import type { DriftAnswers } from './drift-answers.ts';
import type { ExplainAnswers, ExplainQuery, Scope, Window } from './http/answers-port.ts';
import type { Plant } from './plant.ts';
import { explainedRun, type RunParts } from './run-answers.ts';
import type { WeekAnswers } from './week-answers.ts';

type ExplainParts = {
  readonly plant: Plant;
  readonly clock: Clock;
  readonly runs: RunParts;
  readonly drift: DriftAnswers;
  readonly counters: CounterAnswers;
  readonly weeks: WeekAnswers;
  readonly fleet: () => Fleet;
  /** What is usual in the running shift was made of these. */
  readonly earlierShifts: () => readonly EarlierShift[];
  readonly windowOf: (window: Window) => Span;
  readonly numbersOver: (scope: Span, chambers: readonly string[], asOf: number | null) => Promise<FleetWindow>;
  readonly chambersOf: (scope: Scope) => readonly string[];
};

export function explainAnswers(parts: ExplainParts): ExplainAnswers {
  return {
    explain: async (query) => {
      const told = await toldBy(parts, query);
      if (told === null) throw new Fault('not-found', 'There is no such number here. The API page lists the names.');
      return told;
    },
  };
}

function toldBy(parts: ExplainParts, query: ExplainQuery): Promise<Explanation | null> {
  const { span, asOf: _, ...asked } = query;
  const [kind = '', ...rest] = asked.number.split('/');
  if ('run' in span) return ofRun(parts, asked, span.run);
  const now = presentDraft(parts, { kind, rest, chamber: asked.chamber });
  return now ? ofPresent(parts, asked, now) : ofWindow(parts, query);
}

async function ofRun({ plant, runs }: ExplainParts, asked: AskedNumber, run: string): Promise<Explanation | null> {
  return explainRun(asked, await explainedRun(runs, run), plant.units);
}

type Present = { readonly kind: string; readonly rest: readonly string[]; readonly chamber: string | null };

/** Numbers that are of now, of one chamber or of the running shift: null for all others. */
function presentDraft(parts: ExplainParts, { kind, rest, chamber }: Present): (() => Promise<Draft | null>) | null {
  const isOf = (kinds: readonly string[]): boolean => kinds.includes(kind);
  if (kind === 'usual-shift') return async () => explainUsualShift(rest.join('/'), parts.earlierShifts());
  if (!isOf(DRIFT_NUMBERS) && !isOf(COUNTER_NUMBERS) && !isOf(NOW_NUMBERS)) return null;
  if (chamber === null) throw new Fault('invalid', `\`${kind}\` is a number of one chamber: ask with \`chamber\`.`);
  const { id } = parts.plant.chamber(chamber);
  if (isOf(DRIFT_NUMBERS)) return () => parts.drift.explained(kind as DriftNumber, id, rest);
  if (isOf(COUNTER_NUMBERS)) return () => parts.counters.explained(kind as CounterNumber, id, rest.join('/'));
  const tile = parts.fleet().chambers.find((one) => one.chamber === id);
  return async () => (tile ? explainNow(kind as NowNumber, tile, parts.clock.now()) : null);
}

async function ofPresent(
  { plant, clock }: ExplainParts,
  asked: AskedNumber,
  made: () => Promise<Draft | null>,
): Promise<Explanation | null> {
  const draft = await made();
  const now = clock.now();
  const first = draft?.madeOf.reduce((from, row) => Math.min(from, row.from), now) ?? now;
  return draft && explanationOf(asked, draft, { span: { from: first, to: now }, units: plant.units });
}

async function ofWindow(parts: ExplainParts, { span, asOf, ...asked }: ExplainQuery): Promise<Explanation | null> {
  const { weeks, windowOf, numbersOver, chambersOf, plant } = parts;
  if ('run' in span) return null;
  const window = 'week' in span ? weeks.counted(span.week) : windowOf(span);
  const beside: Beside = {
    positions: plant.positions,
    previous: 'week' in span && asked.number.startsWith('usual/') ? await earlier(parts, span.week) : [],
  };
  return explain(asked, await numbersOver(window, chambersOf({ window, chamber: asked.chamber }), asOf), beside);
}

/** The weeks that a week's page stands beside. */
async function earlier({ weeks, plant }: ExplainParts, week: string): Promise<Beside['previous']> {
  const { previous } = await weeks.week(week);
  return previous.map((one) => ({ ...one, ...(weekWindow(one.week, plant.site.zone) as Span) }));
}
