/**
 * The plant's past on its way to the process that started us: batches over the IPC channel, at most three unanswered, so that neither side
 * ever holds more than a few.
 */
import type { Batch } from '../../src/batch.ts';

const MOST_IN_FLIGHT = 3;

export type Channel = {
  send(message: object): void;
  /** Calls back with whatever the other side sends. */
  onMessage(each: (message: unknown) => void): void;
};

export type HistoryFeed = {
  /** Resolves when another batch may be made. */
  readonly give: (batch: Batch) => Promise<void>;
  readonly end: (at: number) => void;
};

export function historyFeed(channel: Channel): HistoryFeed {
  let inFlight = 0;
  let free: (() => void) | null = null;
  channel.onMessage((message) => {
    if ((message as { type?: unknown } | null)?.type !== 'more') return;
    inFlight = Math.max(0, inFlight - 1);
    free?.();
    free = null;
  });
  return {
    async give(batch) {
      inFlight++;
      channel.send({ type: 'history', batch });
      while (inFlight >= MOST_IN_FLIGHT) await new Promise<void>((resolve) => (free = resolve));
    },
    end: (at) => channel.send({ type: 'history-end', at }),
  };
}
