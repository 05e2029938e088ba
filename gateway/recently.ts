/** How much of something came within the last while, on the steady clock. */
export class Recently {
  readonly #withinMs: number;
  #seen: { readonly at: number; readonly amount: number }[] = [];
  #total: number | null = null;

  constructor(withinMs: number) {
    this.#withinMs = withinMs;
  }

  add(at: number, amount: number): void {
    if (amount > 0) this.#seen.push({ at, amount });
  }

  sum(now: number): number {
    this.#seen = this.#seen.filter(({ at }) => now - at < this.#withinMs);
    return this.#seen.reduce((sum, { amount }) => sum + amount, 0);
  }

  /** Of a count that only grows: what it gained; one that began anew gained all of itself. The first look gains nothing. */
  grown(now: number, total: number): number {
    if (this.#total !== null) this.add(now, total >= this.#total ? total - this.#total : total);
    this.#total = total;
    return this.sum(now);
  }
}
