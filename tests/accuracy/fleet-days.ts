/**
 * Days of the simulated hall as facts, and the alerts that the product's own watch makes of them, minute by minute as it would live: baselines
 * renewed weekly from the books, drift and maintenance looked at every hour as the gateway does.
 */
import { siteCore } from '../../gateway/core.ts';
import { HistoryIntake } from '../../gateway/history-intake.ts';
import { writeHistory } from '../../gateway/simulator/history.ts';
import type { FaultOrder } from '../../gateway/simulator/plant-port.ts';
import type { PlantState } from '../../gateway/simulator/plant-state.ts';
import { createPlant, restorePlant, type SimulatedPlant } from '../../gateway/simulator/plant.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import { TraceRecorder } from '../../gateway/trace-recorder.ts';
import { burstBaselines } from '../../gateway/baselines.ts';
import type { FindingsInput } from '../../src/alert-finding.ts';
import { causesOfChamber, chamberDrift, type ChamberDrift } from '../../src/chamber-drift.ts';
import type { DriftFleet } from '../../src/drift-answer.ts';
import { chamberCells, NOT_CHECKABLE, siteMeasure, type CellWords } from '../../src/drift-cell.ts';
import { runFigures, type RunFigures } from '../../src/drift-series.ts';
import { driftFindings } from '../../src/finding-drift.ts';
import { initialWatch, watchBatch } from '../../src/alert-watch.ts';
import type { SiteFile } from '../../src/config.ts';
import type { Alert } from '../../src/contract.ts';
import type { EventOf, StoredEvent } from '../../src/event.ts';
import { watchRules } from '../../src/watch-rules.ts';
import { demoSite } from './plant-feed.ts';

export const DAY = 86_400_000;
const MINUTE = 60_000;
const HOUR = 60 * MINUTE;

export type Ordered = FaultOrder & { readonly at: number };
export type FleetOrder = {
  readonly seed: number;
  readonly from: number;
  readonly days: number;
  /** The fortnight's story of the demo. Without it only what wears, fails and goes wrong by itself happens. */
  readonly story?: boolean;
  readonly orders?: readonly Ordered[];
  /** From then on nothing fails by itself and no link drops: only noise, wear and what is ordered. */
  readonly calmFrom?: number;
};

/** The facts of the hall, in the order in which they came to the books. */
export async function fleetFacts(order: FleetOrder): Promise<readonly StoredEvent[]> {
  const site = demoSite();
  const [core, store] = [siteCore(site), memoryStore()];
  const to = order.from + order.days * DAY;
  const recorder = new TraceRecorder({ store });
  const intake = new HistoryIntake({ site, core, store, recorder, from: order.from, tracesFrom: to });
  let plant = plantOf(order);
  const give = (batch: Parameters<HistoryIntake['take']>[0]): Promise<void> => intake.take(batch);
  if (order.calmFrom !== undefined) {
    await writeHistory({ plant, to: order.calmFrom, give });
    plant = calmed(plant);
  }
  for (const { at, ...fault } of order.orders ?? []) {
    await writeHistory({ plant, to: at, give });
    plant.inject(fault);
  }
  await writeHistory({ plant, to, give });
  await intake.end(to, new Map());
  return store.events({});
}

function calmed(plant: SimulatedPlant): SimulatedPlant {
  const state = plant.snapshot() as PlantState;
  for (const chamber of state.chambers) chamber.failsAfterMs = Infinity;
  state.nextLinkDrop = Infinity;
  return restorePlant(state);
}

function plantOf({ seed, from, story = false }: FleetOrder): SimulatedPlant {
  const plant = createPlant({ seed, from, pace: 'history' });
  const state = plant.snapshot() as PlantState;
  state.story.quiet = !story;
  return restorePlant(state);
}

export type Looker = (at: number) => readonly FindingsInput[];
export type Watch = { readonly from: number; readonly to: number; readonly site?: SiteFile; readonly look?: Looker };

/** The last version of each alert that began within the span, in order. What came before is the books that the watch learned from. */
export async function alertsOf(
  events: readonly StoredEvent[],
  { from, to, site = demoSite(), look = () => [] }: Watch,
): Promise<readonly Alert[]> {
  const store = memoryStore();
  await store.append({ events, snapshots: new Map() });
  const inOrder = events.toSorted((a, b) => a.at - b.at || a.seq - b.seq);
  const found = new Map<string, Alert>();
  let rules = watchRules(site);
  let state = initialWatch();
  let next = 0;
  for (let at = inOrder[0]?.at ?? from; at < to; at += MINUTE) {
    if (at >= from && Math.floor((at - from) / (7 * DAY)) !== Math.floor((at - from - MINUTE) / (7 * DAY))) {
      const heardUntil = Object.fromEntries(rules.chambers.map((chamber) => [chamber, at]));
      const baselines = await burstBaselines(store, {
        chambers: rules.chambers,
        now: at,
        epsilon: site.alerts.falseNoticesPerChamberMonth,
        heardUntil,
      });
      rules = { ...rules, baselines };
    }
    const batch: StoredEvent[] = [];
    while (next < inOrder.length && (inOrder[next] as StoredEvent).at < at + MINUTE) batch.push(inOrder[next++] as StoredEvent);
    const step = watchBatch(rules, state, { events: batch, findings: at >= from ? look(at + MINUTE) : [], now: at + MINUTE });
    state = step.state;
    for (const alert of step.alerts) found.set(alert.id, alert);
  }
  return [...found.values()].filter(({ startedAt }) => startedAt >= from).toSorted((a, b) => a.startedAt - b.startedAt);
}

/** Looks for drift every hour, at the runs recorded by then, as the gateway does after each run. */
export function driftLook(events: readonly StoredEvent[], site: SiteFile = demoSite()): Looker {
  const measure = siteMeasure(site.site.units.pressure);
  const records = events.filter((event) => event.kind === 'run-record').toSorted((a, b) => a.at - b.at);
  const ended = new Map(events.flatMap((event) => (event.kind === 'run-ended' ? [[event.run, event] as const] : [])));
  const runs = new Map<string, RunFigures[]>();
  const judged = new Map<string, ChamberDrift>();
  let next = 0;
  return (at) => {
    if (Math.floor(at / HOUR) === Math.floor((at - MINUTE) / HOUR)) return [];
    const changed = new Set<string>();
    for (; next < records.length && (records[next] as EventOf<'run-record'>).at < at; next++) {
      const { chamber, run, record } = records[next] as EventOf<'run-record'>;
      const known = runs.get(chamber) ?? [];
      known.push(runFigures({ ...(ended.get(run) as EventOf<'run-ended'>), record }));
      runs.set(chamber, known);
      changed.add(chamber);
    }
    for (const chamber of changed) judged.set(chamber, chamberDrift(chamber, { runs: runs.get(chamber) ?? [], work: [] }, measure));
    const chambers = [...judged].map(([chamber, drift]) => fleetRow(chamber, drift, { gases: {}, measure }));
    const findings = driftFindings({ chambers, notCheckable: NOT_CHECKABLE }, site.site.zone);
    return [{ kind: 'findings', of: 'drift', at, findings }];
  };
}

/** As gateway/drift-answers.ts tells it. */
function fleetRow(chamber: string, drift: ChamberDrift, words: CellWords): DriftFleet['chambers'][number] {
  const best = causesOfChamber(drift);
  const causes = best?.causes.map((one) => ({ ...one, evidence: [...one.evidence], against: [...one.against], open: [...one.open] }));
  return {
    ...{ chamber, recipes: [...drift.recipes], cells: chamberCells(drift, words) },
    pointsTo: best === null || causes === undefined ? null : { recipe: best.recipe, causes },
  };
}
