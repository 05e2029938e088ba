/**
 * Which clock to believe for the time of a value of one chamber. The skew of a clock is its stamp minus our receipt of the freshest value in
 * a message (delay only makes it more negative, so the largest is the truest), median over the last messages. A clock inside the
 * tolerance is believed, source before server; otherwise the time is our own receipt. Held per chamber: each may have its own device clock.
 */
import { FROM_RECEIPT, FROM_SERVER, FROM_SOURCE } from './wire.ts';

const MESSAGES = 5;
/** Earlier stamps mean that a device has no clock (OPC UA counts from 1601). */
const EARLIEST = Date.UTC(2000, 0, 1);

/** An event's time by its device and by its server; 0 where there is none. */
export type EventStamps = { readonly deviceMs: number; readonly serverMs: number };

export class EventTime {
  /** The answer of the last `judge`. */
  at = 0;
  origin = FROM_RECEIPT;
  readonly #toleranceMs: number;
  readonly #source = new Skew();
  readonly #server = new Skew();

  /** @param toleranceMs how far a clock may be off, including the delay between sampling and publishing. */
  constructor(toleranceMs: number) {
    this.#toleranceMs = toleranceMs;
  }

  /** Source clock minus ours, null before the first fresh message. */
  get skewMs(): number | null {
    return this.#source.median;
  }

  /** One value that changed just now. */
  fresh(sourceMs: number, serverMs: number, receivedAt: number): void {
    if (sourceMs > EARLIEST) this.#source.saw(sourceMs - receivedAt);
    if (serverMs > EARLIEST) this.#server.saw(serverMs - receivedAt);
  }

  endOfMessage(): void {
    this.#source.close();
    this.#server.close();
  }

  /** Sets `at` and `origin`. A stamp may be long past (a value that has not changed), never in the future. */
  judge(sourceMs: number, serverMs: number, receivedAt: number): void {
    if (this.#believes(this.#source, sourceMs, receivedAt)) this.#answer(sourceMs, FROM_SOURCE);
    else if (this.#believes(this.#server, serverMs, receivedAt)) this.#answer(serverMs, FROM_SERVER);
    else this.#answer(receivedAt, FROM_RECEIPT);
  }

  #believes(skew: Skew, stampMs: number, receivedAt: number): boolean {
    return stampMs > EARLIEST && stampMs - receivedAt <= this.#toleranceMs && Math.abs(skew.median ?? 0) <= this.#toleranceMs;
  }

  #answer(at: number, origin: number): void {
    this.at = at;
    this.origin = origin;
  }
}

class Skew {
  median: number | null = null;
  #largest = -Infinity;
  readonly #recent: number[] = [];

  saw(difference: number): void {
    if (difference > this.#largest) this.#largest = difference;
  }

  close(): void {
    if (this.#largest === -Infinity) return;
    this.#recent.push(this.#largest);
    if (this.#recent.length > MESSAGES) this.#recent.shift();
    this.#largest = -Infinity;
    const sorted = [...this.#recent].sort((a, b) => a - b);
    this.median = sorted[sorted.length >> 1] as number;
  }
}
