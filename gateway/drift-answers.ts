/**
 * The drift pages: what every chamber's figures say, and the chart of one. A chamber is judged anew only when a run of it ended or work on it was
 * told; all else is answered from that.
 */
import { causesOfChamber, chamberDrift, driftInput, driftWarnings, type ChamberDrift, type SeriesVerdict } from '../src/chamber-drift.ts';
import type { ChamberDriftAnswer, DriftCause, DriftFleet, MaintenanceMark } from '../src/drift-answer.ts';
import type { LikelyCause, MeasureOf, SymptomName } from '../src/drift-cause.ts';
import { chamberCells, driftCell, measureLine, measureLines, NOT_CHECKABLE, siteMeasure, type CellWords } from '../src/drift-cell.ts';
import { controlChart } from '../src/drift-chart.ts';
import { explainDrift, type DriftNumber } from '../src/explain-drift.ts';
import type { Draft } from '../src/explanation.ts';
import { resets } from '../src/drift-reset.ts';
import { measuredRuns, SERIES_KINDS, SYMPTOMS } from '../src/drift-series.ts';
import type { StoredEvent } from '../src/event.ts';
import { Fault } from '../src/fault.ts';
import type { DriftWarning } from '../src/numbers.ts';
import { DAY_MS, HOUR_MS } from '../src/zone.ts';
import type { Clock } from './clock.ts';
import type { DriftQuery } from './http/answers-port.ts';
import type { Plant, PlantChamber } from './plant.ts';
import type { ChamberHistory, RunHistory } from './run-history.ts';
import type { EventStore } from './store/store.ts';

type DriftParts = { readonly plant: Plant; readonly history: RunHistory; readonly store: EventStore; readonly clock: Clock };
type Judged = { readonly rev: number; readonly works: number; readonly drift: ChamberDrift };

const MOST_POINTS = 500;
const MOST_SISTERS = 6;
const SISTER_POINTS = 120;
const LONGEST_MARKS_MS = 120 * DAY_MS;
const SHORTEST_MARK_MS = 10 * 60_000;
/** A weekend without a run is no hole in a chart of runs; a week is. */
const LONGEST_GAP_MS = 4 * DAY_MS;
/** A shift so soon after maintenance may be the maintenance. */
const SOON_AFTER_MS = 2 * DAY_MS;

export class DriftAnswers {
  readonly #parts: DriftParts;
  readonly #judged = new Map<string, Judged>();

  constructor(parts: DriftParts) {
    this.#parts = parts;
  }

  get #measure(): MeasureOf {
    return siteMeasure(this.#parts.plant.units.pressure);
  }

  /** The site file changed: units and limits may be others. */
  forget(): void {
    this.#judged.clear();
  }

  async fleet(): Promise<DriftFleet> {
    const { plant, clock } = this.#parts;
    const chambers: DriftFleet['chambers'] = [];
    for (const { id } of plant.chambers) {
      const drift = await this.#drift(id);
      const best = causesOfChamber(drift);
      const pointsTo = best === null ? null : { recipe: best.recipe, causes: best.causes.map(causeWords) };
      chambers.push({ chamber: id, recipes: [...drift.recipes], cells: chamberCells(drift, this.#words(id)), pointsTo });
    }
    return { at: clock.now(), measures: measureLines(this.#measure), chambers, notCheckable: NOT_CHECKABLE };
  }

  /** Every verdict of every chamber, recipe and gas line: the table behind the page. */
  async verdicts(): Promise<{ chamber: string; cell: ReturnType<typeof driftCell>; symbol: string; gain: number }[]> {
    const rows = [];
    for (const { id } of this.#parts.plant.chambers) {
      for (const each of (await this.#drift(id)).verdicts) {
        const cell = driftCell(each, this.#words(id));
        const { symbol, gain } = this.#measure(each.name);
        if (cell.state !== 'no-figure') rows.push({ chamber: id, cell, symbol, gain });
      }
    }
    return rows;
  }

  /** As they stood at `to`: the week page of a week that is over keeps what was known at its end. */
  async warnings(to: number): Promise<readonly DriftWarning[]> {
    const fleet: ChamberDrift[] = [];
    for (const { id } of this.#parts.plant.chambers) {
      const { runs, work } = await this.#parts.history.of(id);
      const known = { runs: runs.filter(({ at }) => at < to), work: work.filter(({ at }) => at < to) };
      fleet.push(known.runs.length === runs.length ? await this.#drift(id) : chamberDrift(id, known, this.#measure));
    }
    return driftWarnings(fleet, this.#measure);
  }

  /** `rest`: figure, gas line or nothing, recipe or nothing. Null for a figure that this chamber does not have. */
  async explained(number: DriftNumber, chamber: string, [name, line = '', ...recipe]: readonly string[]): Promise<Draft | null> {
    const asked = { line: line === '' ? null : Number(line), recipe: recipe.join('/') || null };
    const { verdicts } = await this.#drift(chamber);
    const series = verdicts.find((each) => each.name === name && each.line === asked.line && each.recipe === asked.recipe);
    if (series === undefined) return null;
    const chart = controlChart(driftInput(await this.#parts.history.of(chamber), { key: series, recipe: series.recipe }));
    const gas = series.line === null ? '' : ` of ${this.#words(chamber).gases[series.line] ?? `gas ${series.line}`}`;
    return explainDrift(number, {
      chamber,
      series,
      label: `${this.#measure(series.name).name}${gas}`,
      chart,
      units: this.#parts.plant.units,
    });
  }

  async chamber(query: DriftQuery): Promise<ChamberDriftAnswer> {
    const { plant, history, clock } = this.#parts;
    const { id } = plant.chamber(query.chamber);
    const [drift, worked] = [await this.#drift(id), await history.of(id)];
    const recipe = recipeOf(drift, query.recipe);
    const own = drift.verdicts.filter((each) => each.recipe === null || each.recipe === recipe);
    const chosen = chosenOf(own, query);
    const words = this.#words(id);
    const marks = chosen === null ? [] : await this.#marks(id, worked, chosen.name);
    const weighed = drift.causes.find((each) => each.recipe === recipe);
    return {
      at: clock.now(),
      chamber: id,
      recipe,
      recipes: [...drift.recipes],
      cells: own.map((each) => driftCell(each, words)).filter(({ state }) => state !== 'no-figure'),
      measures: measureLines(this.#measure),
      chart: chosen === null ? null : this.#chart(worked, chosen, words),
      causes: (weighed?.causes ?? []).map(causeWords),
      causesAsAt: weighed?.asAt ?? null,
      marks,
      sisters: chosen === null ? [] : await this.#sisters(plant.chamber(id), chosen, recipe),
      notes: notesOf(plant.chamber(id), chosen, marks),
    };
  }

  async #drift(chamber: string): Promise<ChamberDrift> {
    const history = await this.#parts.history.of(chamber);
    const known = this.#judged.get(chamber);
    if (known?.rev === history.rev && known.works === history.work.length) return known.drift;
    const drift = chamberDrift(chamber, history, this.#measure);
    this.#judged.set(chamber, { rev: history.rev, works: history.work.length, drift });
    return drift;
  }

  #words(chamber: string): CellWords {
    const gases = Object.entries(this.#parts.plant.chamber(chamber).rules.gases).map(([line, { kind }]) => [Number(line), kind]);
    return { gases: Object.fromEntries(gases) as Record<number, string>, measure: this.#measure };
  }

  #chart(worked: ChamberHistory, chosen: SeriesVerdict, words: CellWords): ChamberDriftAnswer['chart'] {
    const { limits, points } = controlChart(driftInput(worked, { key: chosen, recipe: chosen.recipe }));
    const told = limits === null ? null : (({ n, ...rest }) => ({ ...rest, runs: n }))(limits);
    return {
      measure: measureLine(chosen.name, this.#measure),
      cell: driftCell(chosen, words),
      limits: told,
      points: points.slice(-MOST_POINTS).map((point) => ({ ...point, reasons: [...point.reasons] })),
      longestGapMs: LONGEST_GAP_MS,
    };
  }

  /** Work that was told, and maintenance of which nobody said what was done. */
  async #marks(chamber: string, { work, runs }: ChamberHistory, name: SymptomName): Promise<MaintenanceMark[]> {
    const begin = new Set(resets(work, name));
    const told = work.map(({ from, at, parts, reason }) => {
      return { from, to: at, text: `${reason}: ${parts.join(', ')}`, parts: [...parts], resets: begin.has(at) };
    });
    const to = this.#parts.clock.now();
    const from = Math.max(runs.at(-MOST_POINTS)?.at ?? runs[0]?.at ?? to, to - LONGEST_MARKS_MS);
    const states = await this.#parts.store.events({ chambers: [chamber], kinds: ['equipment-state'], from, to });
    const untold = maintenanceSpans(states).filter((span) => !told.some((each) => each.from < span.to && span.from < each.to));
    return [...told, ...untold].toSorted((a, b) => a.from - b.from);
  }

  async #sisters(
    chamber: PlantChamber,
    { name, line, recipe: ofRecipe }: SeriesVerdict,
    recipe: string | null,
  ): Promise<ChamberDriftAnswer['sisters']> {
    const { plant, history } = this.#parts;
    const sisters: ChamberDriftAnswer['sisters'] = [];
    for (const other of plant.chambers.filter((each) => each.id !== chamber.id && areAlike(each, chamber))) {
      const { runs } = await history.of(other.id);
      if (recipe !== null && !runs.some((run) => run.recipe === recipe)) continue;
      const points = measuredRuns(runs, { name, line }, ofRecipe).flatMap(({ at, value }) => (value === null ? [] : [{ at, value }]));
      if (points.length > 0) sisters.push({ chamber: other.id, points: thinned(points.slice(-MOST_POINTS)) });
      if (sisters.length === MOST_SISTERS) break;
    }
    return sisters;
  }
}

const causeWords = ({ cause, evidence, against, open, firstCheck }: LikelyCause): DriftCause => ({
  cause,
  evidence: [...evidence],
  against: [...against],
  open: [...open],
  firstCheck,
});

function recipeOf({ recipes, causes }: ChamberDrift, asked: string | null): string | null {
  if (asked !== null && !recipes.includes(asked))
    throw new Fault('not-found', 'This chamber has not run a recipe of that name lately. Ask without a recipe; the answer lists them.');
  return asked ?? causes.toSorted((a, b) => b.shifts - a.shifts)[0]?.recipe ?? null;
}

/** The figure asked for, or the one that stands out most. */
function chosenOf(own: readonly SeriesVerdict[], { measure, line }: DriftQuery): SeriesVerdict | null {
  const named = measure === null ? own : own.filter((each) => each.name === measure && (line === null || each.line === line));
  if (measure !== null && !(SYMPTOMS as readonly string[]).includes(measure))
    throw new Fault('not-found', `There is no figure of that name. There are: ${SYMPTOMS.join(', ')}.`);
  return named.toSorted((a, b) => standing(b) - standing(a))[0] ?? null;
}

function standing({ verdict, name }: SeriesVerdict): number {
  if (verdict.state === 'shifted') return 1000 + Math.abs(verdict.change) / verdict.sigma;
  if (verdict.state === 'odd-run') return 100;
  const known = verdict.state === 'steady' ? verdict.runs : 0;
  return known > 0 && SERIES_KINDS[name].from === 'loaded' ? 1 : verdict.state === 'learning' && verdict.runs === 0 ? -1 : 0;
}

/** Downtime that was planned, as long as somebody could have worked. */
function maintenanceSpans(states: readonly StoredEvent[]): MaintenanceMark[] {
  const inOrder = states.filter((event) => event.kind === 'equipment-state').toSorted((a, b) => a.at - b.at || a.seq - b.seq);
  return inOrder.flatMap(({ at, state, reason }, i) => {
    const to = inOrder.slice(i + 1).find((next) => next.state !== state)?.at;
    const isFirst = inOrder[i - 1]?.state !== state;
    if (state !== 'scheduled-downtime' || to === undefined || !isFirst || to - at < SHORTEST_MARK_MS) return [];
    return [{ from: at, to, text: reason, parts: [], resets: false }];
  });
}

const areAlike = (a: PlantChamber, b: PlantChamber): boolean =>
  a.rules.rfMaxW === b.rules.rfMaxW && a.rules.basePressurePa === b.rules.basePressurePa;

function thinned<T>(points: readonly T[]): T[] {
  const every = Math.ceil(points.length / SISTER_POINTS);
  return points.filter((_, i) => (points.length - 1 - i) % every === 0);
}

function notesOf({ rules }: PlantChamber, chosen: SeriesVerdict | null, marks: readonly MaintenanceMark[]): string[] {
  const gases = Object.values(rules.gases).map(({ kind }) => kind);
  const notes = gases.length === 0 ? [] : [`${gases.join(', ')}: ${NOT_CHECKABLE}`];
  if (chosen?.verdict.state !== 'shifted') return notes;
  const { at } = chosen.verdict.since;
  const before = marks.findLast(({ to, parts }) => parts.length === 0 && to <= at + HOUR_MS && at - to < SOON_AFTER_MS);
  return before === undefined
    ? notes
    : [
        'It began soon after maintenance of which nobody said what was worked on. If it was the part behind this figure, say so there: the baseline then begins anew.',
        ...notes,
      ];
}
