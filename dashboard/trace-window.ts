/** The last half hour of each signal of one chamber: asked for once, then grown by live values; older samples fall off. */
import type { LiveValues, Trace } from '../src/contract.ts';

export type Sample = { readonly at: number; readonly value: number | null };

export class TraceWindow {
  readonly #windowMs: number;
  readonly #samples = new Map<string, Sample[]>();

  constructor(windowMs: number) {
    this.#windowMs = windowMs;
  }

  samples(signal: string): readonly Sample[] {
    return this.#samples.get(signal) ?? [];
  }

  /** Recorded values go before the live ones that came meanwhile. */
  fill(trace: Trace): void {
    for (const { signal, at, value } of trace.signals) {
      const recorded = at.map((time, i) => ({ at: time, value: value[i] ?? null }));
      const end = recorded.at(-1)?.at ?? -Infinity;
      this.#samples.set(signal, [...recorded, ...this.samples(signal).filter((s) => s.at > end)]);
    }
  }

  /** Only for a chamber that is heard: of a silent one the last values are old. */
  append(values: LiveValues): void {
    for (const { signal, at, value } of values.values) {
      if (typeof value !== 'number' && value !== null) continue;
      const samples = this.#samples.get(signal) ?? [];
      this.#samples.set(signal, samples);
      const last = samples.at(-1);
      if (!last || at > last.at) samples.push({ at, value });
      // Heard again after a silence with a value that did not change meanwhile: it is known from now on, not from its old time.
      else if (last.value === null && value !== null && values.now > last.at) samples.push({ at: values.now, value });
    }
    this.#forget(values.now - this.#windowMs);
  }

  /** Nobody was heard from then on: the lines end there. */
  breakAt(at: number): void {
    for (const samples of this.#samples.values()) {
      const last = samples.at(-1);
      if (last && last.value !== null && at > last.at) samples.push({ at, value: null });
    }
  }

  /** One sample older than the window stays, so that the line reaches its edge. */
  #forget(before: number): void {
    for (const samples of this.#samples.values()) {
      let old = 0;
      while ((samples[old + 1]?.at ?? Infinity) < before) old += 1;
      if (old > 60) samples.splice(0, old);
    }
  }
}
