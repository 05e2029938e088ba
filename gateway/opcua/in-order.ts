/**
 * Messages of one subscription, delivered in the order of their numbers: those rise by one and wrap past 2^32-1 to 1; a keep-alive bears the
 * next number without using it (OPC 10000-4 5.14.1). After a repair the library asks for lost messages again only until a new one overtakes
 * them, and never for one that a keep-alive announced. So what is missing is asked for here (Republish, 5.14.6) while what came after it
 * waits; what the server no longer has is lost, and said to be.
 */
export type Numbered = { readonly sequenceNumber: number; readonly notificationData: readonly unknown[] | null };

export type Delivery<Message> = {
  /** Asks for one message again; rejects when it is not to be had. */
  readonly again: (sequenceNumber: number) => Promise<Message>;
  readonly deliver: (message: Message) => void;
  /** Said before the first message after those that are lost. */
  readonly lost: () => void;
};

/** What the library's own server keeps; no other number is known to us. To ask for more would only hold up what came. */
const MOST_ASKED = 100;
/** What waits must not be held up longer: its chambers would be called silent. */
const ASK_MS = 3000;
const MOST_REMEMBERED = 256;

export class InOrder<Message extends Numbered> {
  readonly #parts: Delivery<Message>;
  #next = 0;
  /** By number; what came first of the same number first. */
  #waiting: Message[] = [];
  /** Numbers asked for since all was in order. */
  readonly #asked = new Set<number>();
  /** Delivered lately, so that none is delivered twice. */
  readonly #delivered = new Set<number>();
  #asking: AbortController | null = null;

  constructor(parts: Delivery<Message>) {
    this.#parts = parts;
  }

  take(message: Message): void {
    this.#insert(message);
    if (this.#asking === null) this.#drain();
  }

  /** The server numbers anew; what waited is delivered as it came. */
  restart(): void {
    const waiting = this.#waiting;
    this.end();
    for (const message of waiting) this.#parts.deliver(message);
    this.#next = 0;
    this.#delivered.clear();
  }

  /** Nothing is asked for and nothing delivered any more of what waits. */
  end(): void {
    this.#asking?.abort();
    this.#asking = null;
    this.#asked.clear();
    this.#waiting = [];
  }

  #drain(): void {
    for (let message = this.#waiting[0]; message !== undefined; message = this.#waiting[0]) {
      const missing = this.#missingBefore(message);
      const unasked = missing.filter((number) => !this.#asked.has(number));
      if (unasked.length > 0 && missing.length <= MOST_ASKED) return this.#ask(unasked);
      this.#waiting.shift();
      if (missing.length > 0) this.#parts.lost();
      this.#pass(message);
    }
    this.#asked.clear();
  }

  #pass(message: Message): void {
    const { sequenceNumber: number } = message;
    const carries = carriesValues(message);
    if (carries && this.#delivered.has(number)) return;
    if (carries) this.#remember(number);
    if (this.#ahead(number) >= 0) this.#next = carries ? after(number) : number;
    this.#parts.deliver(message);
  }

  #ask(numbers: readonly number[]): void {
    const asking = new AbortController();
    this.#asking = asking;
    for (const number of numbers) this.#asked.add(number);
    const late = setTimeout(() => this.#answered(asking), ASK_MS);
    void this.#askEach(numbers, asking.signal).finally(() => (clearTimeout(late), this.#answered(asking)));
  }

  /** One after the other: small controllers take few requests at once. */
  async #askEach(numbers: readonly number[], signal: AbortSignal): Promise<void> {
    for (const number of numbers) {
      // A refusal says only that this one is lost: an older message is forgotten before a newer one.
      const message = await this.#parts.again(number).catch(() => null);
      if (signal.aborted) return;
      if (message !== null) this.#insert(message);
    }
  }

  #answered(asking: AbortController): void {
    if (asking.signal.aborted) return;
    asking.abort();
    this.#asking = null;
    this.#drain();
  }

  #insert(message: Message): void {
    const ahead = this.#ahead(message.sequenceNumber);
    const place = this.#waiting.findIndex(({ sequenceNumber }) => this.#ahead(sequenceNumber) > ahead);
    this.#waiting.splice(place === -1 ? this.#waiting.length : place, 0, message);
  }

  #missingBefore({ sequenceNumber }: Message): readonly number[] {
    const missing: number[] = [];
    if (this.#ahead(sequenceNumber) <= 0) return missing;
    for (let number = this.#next; number !== sequenceNumber && missing.length <= MOST_ASKED; number = after(number)) missing.push(number);
    return missing;
  }

  /** How far beyond the next number; negative for one sent again. */
  #ahead(number: number): number {
    return this.#next === 0 ? 0 : (number - this.#next) | 0;
  }

  #remember(number: number): void {
    this.#delivered.add(number);
    if (this.#delivered.size > MOST_REMEMBERED) for (const oldest of this.#delivered) return void this.#delivered.delete(oldest);
  }
}

const carriesValues = ({ notificationData }: Numbered): boolean => (notificationData?.length ?? 0) > 0;
const after = (number: number): number => (number === 0xffffffff ? 1 : number + 1);
