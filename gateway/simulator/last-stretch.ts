/**
 * A past that ends before anybody listens leaves a hole. So the plant, already living and serving, goes on telling it beat by beat, until its
 * hearer says up to when it needs it: the moment from which on it hears the servers themselves.
 */
import { batchBuilder } from '../../src/batch.ts';
import type { HistoryFeed } from './history-feed.ts';
import { historySink } from './history.ts';
import type { PlantSink } from './plant-port.ts';
import type { SimulatedPlant } from './plant.ts';

/** Hears what the plant says while it lives. */
export type Listener = {
  readonly sink: PlantSink;
  /** After each step of the plant; false when it need not hear any more. */
  beat(): boolean;
};

export function lastStretch(plant: SimulatedPlant, feed: HistoryFeed): Listener {
  const builder = batchBuilder();
  const sink = historySink(plant, builder);
  plant.retell();
  sink.begin();
  return {
    sink,
    beat() {
      const wanted = feed.wantedUntil();
      const isOver = wanted !== null && plant.now >= wanted;
      if (builder.size() > 0 && (isOver || !feed.isBusy())) void feed.give(builder.take());
      if (isOver) feed.end(plant.now);
      return !isOver;
    },
  };
}
