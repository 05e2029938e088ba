/**
 * One chamber judged as a whole: every figure of every recipe that is run, the worst of each for a line of the fleet's table, and what the
 * pattern points to.
 * [CD1] A recipe that was not run in the last 35 days before the chamber's last run is not judged: what it would say is old.
 * [CD2] What a figure says of the chamber is the worst of its verdicts: shifted before odd run before steady before learning; of two shifted
 *       the one with the larger share changed; and of a verdict known before one still learned.
 * [CD3] Causes are weighed per recipe, with the figures of the chamber beside them; the chamber's are those of the recipe with most shifts.
 * [CD5] A figure that looks steady says nothing of a shift that began after its last four runs (of a rare one, its last): those were before it.
 * [CD6] A recipe is weighed with what was known of the chamber at the last run that showed its shift, leak tests and empty runs since included: a chamber repaired since
 *       then would explain nothing.
 * [CD4] A warning is one sentence per chamber in which something shifted: the shift that stands out most from its spread, since when, and what
 *       all shifts together point to. An odd run is no warning.
 */
import type { DriftVerdict } from './drift.ts';
import { drift, driftSentence } from './drift.ts';
import type { LikelyCause, MeasureOf, SymptomName, Symptoms } from './drift-cause.ts';
import { likelyCauses, measureOf } from './drift-cause.ts';
import type { Work } from './drift-reset.ts';
import { resets } from './drift-reset.ts';
import type { RunFigures, SeriesKey } from './drift-series.ts';
import { measuredRuns, recipesOf, SERIES, SERIES_KINDS, SYMPTOMS } from './drift-series.ts';
import { noPatternText, usualCause } from './drift-usual-cause.ts';
import type { DriftWarning } from './numbers.ts';
import { DAY_MS } from './zone.ts';

export type SeriesVerdict = SeriesKey & {
  readonly recipe: string | null;
  readonly verdict: DriftVerdict;
  /** When the newest runs that have the figure ended, four at most, ascending. */
  readonly newest: readonly number[];
};
type RecipeCauses = {
  readonly recipe: string;
  readonly causes: readonly LikelyCause[];
  readonly shifts: number;
  /** [CD6] The run up to which the chamber was looked at, where others came since; null: now. */
  readonly asAt: number | null;
};
export type ChamberDrift = {
  readonly chamber: string;
  readonly recipes: readonly string[];
  readonly verdicts: readonly SeriesVerdict[];
  readonly causes: readonly RecipeCauses[];
  readonly lastAt: number | null;
};
/** A chamber's runs, ascending in time, and what was worked on meanwhile. */
type Worked = { readonly runs: readonly RunFigures[]; readonly work: readonly Work[] };

const LATELY_MS = 35 * DAY_MS;
const ENOUGH_RUNS = 4;

/** [CD1] [CD3] `measure`: how a figure is named and sized on screens of the site. */
export function chamberDrift(chamber: string, { runs, work }: Worked, measure: MeasureOf = measureOf): ChamberDrift {
  const since = (runs.at(-1)?.at ?? 0) - LATELY_MS;
  const recipes = recipesOf(runs.filter(({ at }) => at > since));
  const verdicts = SERIES.flatMap((key) => scopesOf(key, recipes).map((recipe) => seriesVerdict({ runs, work }, { key, recipe })));
  const causes = recipes.map((recipe) => causesOf(recipe, asOf({ runs, work }, recipe, verdicts), measure));
  return { chamber, recipes, verdicts, causes, lastAt: runs.at(-1)?.at ?? null };
}

const scopesOf = ({ name }: SeriesKey, recipes: readonly string[]): readonly (string | null)[] =>
  SERIES_KINDS[name].scope === 'chamber' ? [null] : recipes;

export type Asked = { readonly key: SeriesKey; readonly recipe: string | null };

/** What the chart of one figure is made of. */
export const driftInput = ({ runs, work }: Worked, { key, recipe }: Asked) => ({
  measure: measureOf(key.name),
  runs: measuredRuns(runs, key, recipe),
  maintenance: resets(work, key.name),
  isRare: SERIES_KINDS[key.name].isRare,
});

function seriesVerdict(worked: Worked, asked: Asked): SeriesVerdict {
  const input = driftInput(worked, asked);
  const newest = input.runs.filter(({ value }) => value !== null).slice(-ENOUGH_RUNS);
  return { ...asked.key, recipe: asked.recipe, verdict: drift(input), newest: newest.map(({ at }) => at) };
}

type AsOf = { readonly verdicts: readonly SeriesVerdict[]; readonly asAt: number | null };

/** [CD6] */
function asOf({ runs, work }: Worked, recipe: string, verdicts: readonly SeriesVerdict[]): AsOf {
  const own = verdicts.filter((each) => each.recipe === recipe).filter(isShifted);
  const last = Math.max(...own.map(({ verdict }) => verdict.lastShownAt));
  if (own.length === 0 || !runs.some((run) => run.at > last && !run.engineering)) return { verdicts, asAt: null };
  const until = { runs: runs.filter(({ at }) => at <= last), work: work.filter(({ at }) => at <= last) };
  const seen = verdicts.map((each) =>
    each.recipe !== null || SERIES_KINDS[each.name].isRare
      ? each
      : seriesVerdict(until, { key: { name: each.name, line: each.line }, recipe: null }),
  );
  return { verdicts: seen, asAt: last };
}

const RANK: Readonly<Record<DriftVerdict['state'], number>> = { learning: 0, steady: 1, 'odd-run': 2, shifted: 3 };

/** [CD2] Null without any. A verdict learning from nothing at all says that there is no such figure. */
export function worst<T extends { readonly verdict: DriftVerdict }>(verdicts: readonly T[]): T | null {
  return verdicts.toSorted((a, b) => RANK[b.verdict.state] - RANK[a.verdict.state] || extent(b.verdict) - extent(a.verdict))[0] ?? null;
}

function extent(verdict: DriftVerdict): number {
  if (verdict.state === 'learning') return verdict.runs;
  return verdict.state === 'steady' ? verdict.runs : Math.abs(verdict.changeShare ?? Infinity);
}

/** [CD2] By figure, of every recipe and line. */
export const worstOf = ({ verdicts }: ChamberDrift, name: SymptomName): SeriesVerdict | null =>
  worst(verdicts.filter((each) => each.name === name));

/** [CD3] [CD5] */
export function symptomsOf(recipe: string, verdicts: readonly SeriesVerdict[]): Symptoms {
  const all = verdicts.filter((each) => each.recipe === null || each.recipe === recipe);
  const began = Math.min(...all.filter(isShifted).map(({ verdict }) => verdict.since.at));
  const own = all.filter((each) => each.verdict.state !== 'steady' || hasEnough(each, began));
  const found = SYMPTOMS.flatMap((name) => {
    const verdict = worst(own.filter((each) => each.name === name))?.verdict;
    return verdict === undefined ? [] : [[name, verdict] as const];
  });
  return Object.fromEntries(found);
}

/** [CD5] */
function hasEnough({ name, newest }: SeriesVerdict, began: number): boolean {
  return !Number.isFinite(began) || newest.filter((at) => at >= began).length >= (SERIES_KINDS[name].isRare ? 1 : ENOUGH_RUNS);
}

function causesOf(recipe: string, { verdicts, asAt }: AsOf, measure: MeasureOf): RecipeCauses {
  const symptoms = symptomsOf(recipe, verdicts);
  const shifts = Object.values(symptoms).filter(({ state }) => state === 'shifted').length;
  return { recipe, causes: likelyCauses(symptoms, measure), shifts, asAt };
}

/** [CD3] Of two recipes with as many shifts, the one with a cause to name, then the one most run. */
export function causesOfChamber({ causes }: ChamberDrift): RecipeCauses | null {
  const shifted = causes.filter(({ shifts }) => shifts > 0);
  return shifted.toSorted((a, b) => b.shifts - a.shifts || Number(b.causes.length > 0) - Number(a.causes.length > 0))[0] ?? null;
}

type Shifted = SeriesVerdict & { readonly verdict: Extract<DriftVerdict, { state: 'odd-run' | 'shifted' }> };
const isShifted = (each: SeriesVerdict): each is Shifted => each.verdict.state === 'shifted';

/** [CD4] Longest known first. */
export function driftWarnings(fleet: readonly ChamberDrift[], measure: MeasureOf = measureOf): readonly DriftWarning[] {
  return fleet.flatMap((chamber) => warning(chamber, measure) ?? []).toSorted((a, b) => a.since - b.since);
}

function warning(chamber: ChamberDrift, measure: MeasureOf): DriftWarning | null {
  const shifted = chamber.verdicts.filter(isShifted);
  const first = shifted.toSorted((a, b) => surety(b) - surety(a))[0];
  if (first === undefined) return null;
  const cause = causesOfChamber(chamber)?.causes[0];
  const usual = usualCause(first.name, first.verdict.change);
  const unknown = `${noPatternText(usual)} ${usual?.firstCheck ?? ''}`.trim();
  const points = cause === undefined ? unknown : `Points to ${cause.cause}. ${cause.firstCheck}`;
  const of = first.recipe === null ? '' : ` with ${first.recipe}`;
  const said = driftSentence(measure(first.name), first.verdict).replace(/\.$/, '');
  const silentMs = (chamber.lastAt ?? 0) - (first.newest.at(-1) ?? 0);
  const late = silentMs > DAY_MS ? `, not run for ${Math.floor(silentMs / DAY_MS)} d since` : '';
  return { chamber: chamber.chamber, text: `${said}${of}${late}. ${points}`, since: first.verdict.since.at };
}

/** In units of the run-to-run spread. */
const surety = ({ verdict }: Shifted): number => Math.abs(verdict.change) / verdict.sigma;
