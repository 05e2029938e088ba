/**
 * One measured value of one signal of one chamber, in SI, as it came from a server.
 */
import type { Signal } from './signal.ts';

export type Quality = 'good' | 'uncertain' | 'bad';

/** Which clock gave a reading its time: the device, its server, or our own receipt (last resort); `archive`: the device's, read back later. */
export type TimeOrigin = 'source' | 'server' | 'receipt' | 'archive';

export type SignalValue = number | boolean | string | null;

export type Reading = {
  readonly chamber: string;
  readonly signal: Signal;
  /** SI. Null whenever quality is bad: a bad value never enters a number. */
  readonly value: SignalValue;
  readonly quality: Quality;
  /** Epoch ms, by the clock named in `timeOrigin`. */
  readonly at: number;
  readonly timeOrigin: TimeOrigin;
  /** Epoch ms by the gateway's clock; of a value read back from a server's archive, when it was measured. */
  readonly receivedAt: number;
};
