/**
 * Days of the simulated hall as facts, and the alerts that the product's own watch makes of them, minute by minute as it would live: baselines
 * renewed weekly from the books, drift and maintenance looked at every hour as the gateway does.
 */
import { siteCore } from '../../gateway/core.ts';
import { HistoryIntake } from '../../gateway/history-intake.ts';
import { writeHistory } from '../../gateway/simulator/history.ts';
import type { FaultOrder } from '../../gateway/simulator/plant-port.ts';
import { createPlant, restorePlant, type SimulatedPlant } from '../../gateway/simulator/plant.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import { TraceRecorder } from '../../gateway/trace-recorder.ts';
import { burstBaselines } from '../../gateway/baselines.ts';
import type { FindingsInput } from '../../src/alert-finding.ts';
import { initialWatch, watchBatch } from '../../src/alert-watch.ts';
import type { SiteFile } from '../../src/config.ts';
import type { Alert } from '../../src/contract.ts';
import type { StoredEvent } from '../../src/event.ts';
import { watchRules } from '../../src/watch-rules.ts';
import { demoSite } from './plant-feed.ts';

export const DAY = 86_400_000;
const MINUTE = 60_000;

export type Ordered = FaultOrder & { readonly at: number };
export type FleetOrder = {
  readonly seed: number;
  readonly from: number;
  readonly days: number;
  /** The fortnight's story of the demo. Without it only what wears, fails and goes wrong by itself happens. */
  readonly story?: boolean;
  readonly orders?: readonly Ordered[];
};

/** The facts of the hall, in the order in which they came to the books. */
export async function fleetFacts(order: FleetOrder): Promise<readonly StoredEvent[]> {
  const site = demoSite();
  const [core, store] = [siteCore(site), memoryStore()];
  const to = order.from + order.days * DAY;
  const recorder = new TraceRecorder({ store });
  const intake = new HistoryIntake({ site, core, store, recorder, from: order.from, tracesFrom: to });
  const plant = plantOf(order);
  const give = (batch: Parameters<HistoryIntake['take']>[0]): Promise<void> => intake.take(batch);
  for (const { at, ...fault } of order.orders ?? []) {
    await writeHistory({ plant, to: at, give });
    plant.inject(fault);
  }
  await writeHistory({ plant, to, give });
  await intake.end(to, new Map());
  return store.events({});
}

function plantOf({ seed, from, story = false }: FleetOrder): SimulatedPlant {
  const plant = createPlant({ seed, from, pace: 'history' });
  const memory = plant.snapshot() as { story: { quiet?: boolean } };
  return story ? plant : restorePlant({ ...memory, story: { ...memory.story, quiet: true } });
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
