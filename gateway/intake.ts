/**
 * The bounded queue in front of the pipeline. A slow disk must not become endless memory: first the values that only a live page shows are
 * dropped and counted, then a chamber's facts too, and that hole is told (`link.alive` false at its first lost moment), never smoothed over.
 */
import type { Reading } from '../src/reading.ts';
import type { Signal } from '../src/signal.ts';

/** Shown live and in traces, decided upon by nobody. */
const LIVE_ONLY: ReadonlySet<Signal> = new Set<Signal>([
  'chamber.temperature',
  'pump.bodyTemperature',
  'rf.reflected',
  'rf.matchC1',
  'rf.matchC2',
  'recipe.stepElapsed',
  'utility.waterFlow',
  'utility.compressedAirPressure',
  'utility.nitrogenPressure',
]);

export type IntakeCounters = { readonly droppedLive: number; readonly droppedFacts: number };

export class Intake {
  readonly #most: number;
  #waiting: Reading[] = [];
  #droppedLive = 0;
  #droppedFacts = 0;
  /** Chambers that lost facts, with the first reading lost. */
  readonly #holes = new Map<string, Reading>();

  /** Live-only values are dropped beyond `most` waiting readings, everything beyond twice as many. */
  constructor(most = 100_000) {
    this.#most = most;
  }

  add(readings: readonly Reading[]): void {
    for (const reading of readings) {
      if (this.#waiting.length < this.#most) this.#waiting.push(reading);
      else this.#addCrowded(reading);
    }
  }

  /** All that waits, in order of arrival, holes last. */
  take(): readonly Reading[] {
    const holes = [...this.#holes.values()].map((lost): Reading => ({ ...lost, signal: 'link.alive', value: false, quality: 'good' }));
    const taken = holes.length === 0 ? this.#waiting : [...this.#waiting, ...holes];
    this.#waiting = [];
    this.#holes.clear();
    return taken;
  }

  get size(): number {
    return this.#waiting.length;
  }

  get counters(): IntakeCounters {
    return { droppedLive: this.#droppedLive, droppedFacts: this.#droppedFacts };
  }

  #addCrowded(reading: Reading): void {
    if (LIVE_ONLY.has(reading.signal)) {
      this.#droppedLive += 1;
    } else if (this.#waiting.length < 2 * this.#most) {
      this.#waiting.push(reading);
    } else {
      this.#droppedFacts += 1;
      const first = this.#holes.get(reading.chamber);
      if (first === undefined || reading.at < first.at) this.#holes.set(reading.chamber, reading);
    }
  }
}
