/** Refused sockets in the log: the first at once, what follows within a minute as one line with its count. Anybody can knock as often as he likes. */

const QUIET_MS = 60_000;

export type RefusalParts = { readonly steadyMs: () => number; readonly log: (message: string) => void };

export class Refusals {
  readonly #parts: RefusalParts;
  #saidAt = -Infinity;
  #unsaid = 0;
  #lastReason = '';

  constructor(parts: RefusalParts) {
    this.#parts = parts;
  }

  add(reason: string): void {
    this.#unsaid += 1;
    this.#lastReason = reason;
    this.tell();
  }

  /** To be called now and then: says what has waited long enough. */
  tell(): void {
    const now = this.#parts.steadyMs();
    if (this.#unsaid === 0 || now - this.#saidAt < QUIET_MS) return;
    const what = this.#unsaid === 1 ? 'A socket was refused:' : `${this.#unsaid} sockets were refused within a minute, the last one:`;
    this.#parts.log(`${what} ${this.#lastReason}`);
    this.#saidAt = now;
    this.#unsaid = 0;
  }
}
