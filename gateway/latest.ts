/**
 * The last reading of every signal of every chamber: what a live page shows first. A word received later than now is of before the machine's clock
 * was set back, and gives way to whatever comes; otherwise values would stand still on screen until the clock has caught up.
 */
import type { Reading } from '../src/reading.ts';
import type { Signal } from '../src/signal.ts';
import type { Clock } from './clock.ts';

/** The clocks of two processes do not read the same to the millisecond, here in real time. */
const APART_MS = 1_000;

export class Latest {
  readonly #chambers = new Map<string, Map<Signal, Reading>>();
  readonly #clock: Pick<Clock, 'now' | 'speed'>;

  constructor(clock: Pick<Clock, 'now' | 'speed'>) {
    this.#clock = clock;
  }

  take(readings: readonly Reading[]): void {
    const latestReceipt = this.#clock.now() + APART_MS * this.#clock.speed;
    for (const reading of readings) {
      const signals = this.#chambers.get(reading.chamber) ?? new Map<Signal, Reading>();
      this.#chambers.set(reading.chamber, signals);
      const known = signals.get(reading.signal);
      if (known === undefined || known.at <= reading.at || known.receivedAt > latestReceipt) signals.set(reading.signal, reading);
    }
  }

  /** Empty for a chamber never heard. */
  of(chamber: string): ReadonlyMap<Signal, Reading> {
    return this.#chambers.get(chamber) ?? new Map<Signal, Reading>();
  }
}
