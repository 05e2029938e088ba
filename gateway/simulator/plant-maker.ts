/**
 * Makes and restores the real plant for the simulator, and sends its past to the process that started us when that asked for it.
 */
import { type Channel, historyFeed } from './history-feed.ts';
import { writeHistory } from './history.ts';
import { lastStretch } from './last-stretch.ts';
import { createPlant, restorePlant, type SimulatedPlant } from './plant.ts';
import type { PlantMaker } from './simulator.ts';

export function plantMaker(hall: { readonly seed: number; readonly chambers: number }, channel: Channel): PlantMaker<SimulatedPlant> {
  return {
    create: (at, truth) => createPlant({ ...hall, from: at, truth }),
    restore(snapshot, truth) {
      const plant = restorePlant(snapshot, truth);
      plant.retell(); // the tags' last values are not in the snapshot
      return plant;
    },
    hurry: (plant, inHurry) => plant.setPace(inHurry ? 'history' : 'live'),
    async past(plant, { now, image, stop }) {
      const feed = historyFeed(channel);
      // The past grows while it is told: the rest is told as well, until none is left.
      while (now() - plant.now >= 1000 && !stop.aborted) await writeHistory({ plant, to: now(), give: feed.give, also: image, stop });
      return channel.isHeard ? lastStretch(plant, feed) : null;
    },
  };
}

/** The IPC channel of a forked process; started by hand there is none, and the past is lived through untold. */
export function parentChannel(): Channel {
  if (process.send === undefined) {
    let answer: (message: unknown) => void = () => {};
    return { isHeard: false, send: () => queueMicrotask(() => answer({ type: 'more' })), onMessage: (each) => (answer = each) };
  }
  return { isHeard: true, send: (message) => void process.send?.(message), onMessage: (each) => void process.on('message', each) };
}
