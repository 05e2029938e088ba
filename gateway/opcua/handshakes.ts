/**
 * How many servers are connected to at a time: five that answer, because each handshake costs both ends their processors. One that takes longer
 * waits for an answer and costs nobody anything: it gives its place to the next, so that servers that are off hold up none that are on. So no
 * more than five attempts a second set out beyond those that succeed.
 */
const AT_ONCE = 5;
const LONG_MS = 1000;

export class Handshakes {
  readonly #longMs: number;
  #free = AT_ONCE;
  readonly #waiting: (() => void)[] = [];

  constructor(longMs = LONG_MS) {
    this.#longMs = longMs;
  }

  async run<T>(work: () => Promise<T>): Promise<T> {
    if (this.#free > 0) this.#free--;
    else await new Promise<void>((resolve) => this.#waiting.push(resolve));
    let isHeld = true;
    const giveBack = (): void => {
      if (isHeld) this.#next();
      isHeld = false;
    };
    const long = setTimeout(giveBack, this.#longMs);
    try {
      return await work();
    } finally {
      clearTimeout(long);
      giveBack();
    }
  }

  #next(): void {
    const next = this.#waiting.shift();
    if (next) next();
    else this.#free++;
  }
}
