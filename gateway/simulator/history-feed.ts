/**
 * The plant's past on its way to the process that started us: batches over the IPC channel, at most three unanswered, so that neither side
 * ever holds more than a few. The other side answers each with `more`, and says with `until` when it hears the servers themselves.
 */
import type { Batch } from '../../src/batch.ts';

const MOST_IN_FLIGHT = 3;

export type Channel = {
  /** False when nobody is at the other end. */
  readonly isHeard: boolean;
  send(message: object): void;
  /** Calls back with whatever the other side sends. */
  onMessage(each: (message: unknown) => void): void;
};

export type HistoryFeed = {
  /** Resolves when another batch may be made. */
  readonly give: (batch: Batch) => Promise<void>;
  readonly end: (at: number) => void;
  /** The other side has enough unanswered batches. */
  readonly isBusy: () => boolean;
  /** Up to when the other side needs to be told; null while it has not said so. */
  readonly wantedUntil: () => number | null;
};

export function historyFeed(channel: Channel): HistoryFeed {
  let inFlight = 0;
  let free: (() => void) | null = null;
  let until: number | null = null;
  channel.onMessage((message) => {
    const { type, at } = (message ?? {}) as { type?: unknown; at?: number };
    if (type === 'until') until = at ?? 0;
    if (type !== 'more') return;
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
    isBusy: () => inFlight >= MOST_IN_FLIGHT,
    wantedUntil: () => until,
  };
}
