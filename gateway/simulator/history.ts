/**
 * The plant's past as batches: the plant run fast from where it stands to `to`, every value under the node text of the site file
 * (`nsu=<plant>;s=<path>`, conditions as `<chamber node>#<name>`), presence of a server as `link:<server>`. While a server's link is away
 * nothing of it is heard; when it is back its present values are told again, as a client would read them. Each call begins with all values.
 */
import { type Batch, batchBuilder, type BatchBuilder } from '../../src/batch.ts';
import type { PlantSink, RawValue, SimulatedChamber } from './plant-port.ts';
import type { SimulatedPlant } from './plant.ts';

const NAMESPACE = 'nsu=urn:quellmoor:hall-3;s=';
const STRIDE_MS = 10 * 60_000;
const USUAL_BATCH = 40_000;

export type HistoryOrder = {
  readonly plant: SimulatedPlant;
  readonly to: number;
  /** Called with each batch, in order of time; waited for. */
  readonly give: (batch: Batch) => void | Promise<void>;
  /** Values after which a batch is handed over. */
  readonly most?: number;
  /** Hears everything too, link states or not. */
  readonly also?: PlantSink;
  readonly stop?: AbortSignal;
};

export type HistoryCount = { readonly values: number; readonly batches: number; readonly from: number; readonly to: number };

export async function writeHistory(order: HistoryOrder): Promise<HistoryCount> {
  const { plant, to } = order;
  const from = plant.now;
  const builder = batchBuilder();
  const sink = historySink(plant, builder, order.also);
  let [values, batches] = [0, 0];
  plant.setPace('history');
  plant.retell();
  if (to - from >= 1000) sink.begin();
  while (plant.now + 1000 <= to && order.stop?.aborted !== true) {
    plant.advance(Math.min(to, plant.now + STRIDE_MS), sink);
    const last = plant.now + 1000 > to;
    if (builder.size() < (order.most ?? USUAL_BATCH) && !last) continue;
    values += builder.size();
    batches++;
    await order.give(builder.take());
  }
  plant.setPace('live');
  return { values, batches, from, to: plant.now };
}

type Last = { value: RawValue; at: number };
type Heard = { readonly server: string; away: boolean; readonly last: (Last | undefined)[]; readonly names: readonly string[] };

/** Tags first, then conditions, in one row per chamber. */
function heardOf(chamber: SimulatedChamber, linksAway: readonly string[]): Heard {
  const tags = chamber.tags.map((tag) => NAMESPACE + tag.path);
  const conditions = chamber.conditions.map((condition) => `${NAMESPACE}${chamber.id}#${condition.name}`);
  return { server: chamber.server, away: linksAway.includes(chamber.server), last: [], names: [...tags, ...conditions] };
}

/** Puts what the plant says into batches; `begin` says first where every link stands. */
export function historySink(plant: SimulatedPlant, builder: BatchBuilder, also?: PlantSink): PlantSink & { begin(): void } {
  const { chambers } = plant;
  const heard = chambers.map((chamber) => heardOf(chamber, plant.linksAway));
  const tell = (chamber: number, place: number, value: RawValue, at: number): void => {
    const row = heard[chamber]!;
    row.last[place] = { value, at };
    if (!row.away) builder.add(row.names[place]!, at, value);
  };
  return {
    begin() {
      for (const server of new Set(heard.map((row) => row.server))) {
        builder.add(`link:${server}`, plant.now, !plant.linksAway.includes(server));
      }
    },
    tag(chamber, tag, value, at, sourceAt) {
      tell(chamber, tag, value, at);
      also?.tag(chamber, tag, value, at, sourceAt);
    },
    condition(chamber, condition, active, at, sourceAt) {
      tell(chamber, chambers[chamber]!.tags.length + condition, active, at);
      also?.condition(chamber, condition, active, at, sourceAt);
    },
    link(server, state, at) {
      const up = state === 'up';
      builder.add(`link:${server}`, at, up);
      for (const row of heard) if (row.server === server) back(row, up, at, builder);
      also?.link(server, state, at);
    },
  };
}

function back(row: Heard, up: boolean, at: number, builder: BatchBuilder): void {
  row.away = !up;
  if (!up) return;
  row.last.forEach((last, place) => {
    if (last !== undefined) builder.add(row.names[place]!, at, last.value);
  });
}
