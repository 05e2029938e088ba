/**
 * What the process of the fleet's own OPC UA server is fed with: what changed, and the numbers of the day. While it has not taken what it was sent
 * last it is sent nothing, and then the newest: a process that hangs costs no memory here.
 */
import type { Changes, Fleet } from '../../src/contract.ts';
import type { SeenNumbers } from '../../src/numbers.ts';
import type { ServeOrder } from './serve-port.ts';

export type FeedParts = {
  readonly view: { fleet(): Fleet; since(rev: number): Changes | null };
  /** One per chamber, of the local day so far. */
  readonly numbers: () => Promise<readonly SeenNumbers[]>;
  /** `done` when the other side's pipe has taken it. */
  readonly send: (order: ServeOrder, done: () => void) => void;
  readonly log: (message: string, error?: unknown) => void;
};

export class ServeFeed {
  readonly #parts: FeedParts;
  #rev = -1;
  #onTheWay = 0;
  #numbers: readonly SeenNumbers[] | null = null;

  constructor(parts: FeedParts) {
    this.#parts = parts;
  }

  /** To be called once a second. */
  feed(): void {
    if (this.#onTheWay > 0) return;
    const { view } = this.#parts;
    const changes = view.since(this.#rev) ?? view.fleet();
    this.#rev = changes.rev;
    if (changes.chambers.length > 0) this.#send({ type: 'tiles', tiles: changes.chambers, now: changes.now });
    if (this.#numbers !== null) this.#send({ type: 'numbers', numbers: this.#numbers });
    this.#numbers = null;
  }

  /** To be called once a minute. */
  async count(): Promise<void> {
    try {
      this.#numbers = await this.#parts.numbers();
    } catch (error) {
      this.#parts.log("The fleet's numbers could not be served over OPC UA", error);
    }
    this.feed();
  }

  #send(order: ServeOrder): void {
    this.#onTheWay += 1;
    this.#parts.send(order, () => (this.#onTheWay -= 1));
  }
}
