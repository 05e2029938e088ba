/** The last reading of every signal of every chamber: what a live page shows first. */
import type { Reading } from '../src/reading.ts';
import type { Signal } from '../src/signal.ts';

export class Latest {
  readonly #chambers = new Map<string, Map<Signal, Reading>>();

  take(readings: readonly Reading[]): void {
    for (const reading of readings) {
      const signals = this.#chambers.get(reading.chamber) ?? new Map<Signal, Reading>();
      this.#chambers.set(reading.chamber, signals);
      const known = signals.get(reading.signal);
      if (known === undefined || known.at <= reading.at) signals.set(reading.signal, reading);
    }
  }

  /** Empty for a chamber never heard. */
  of(chamber: string): ReadonlyMap<Signal, Reading> {
    return this.#chambers.get(chamber) ?? new Map<Signal, Reading>();
  }
}
