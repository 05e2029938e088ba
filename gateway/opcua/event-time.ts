/**
 * Which clock to believe for the time of a value of one chamber. The skew of a clock is its stamp minus our receipt of the freshest value in
 * a message (delay only makes it more negative, so the largest is the truest), median over the last messages. A clock inside the
 * tolerance is believed, source before server; otherwise the time is our own receipt. Held per chamber: each may have its own device clock.
 * The values of a new session changed at any time before, so until the first fresh message a clock is only glimpsed: its newest stamp shows that it
 * goes right, or nothing shows it, and then the time of a value is our receipt: it holds since then at the latest, and nobody claims more. A value
 * that changed just now, with a stamp older than a server's queue keeps, is stamped by a clock that stands, whatever the chamber's others do.
 */
import { FROM_RECEIPT, FROM_SERVER, FROM_SOURCE } from './wire.ts';

const MESSAGES = 5;
/** A server keeps a minute of values for us (line.ts). */
const QUEUE_MS = 60_000;
/** Earlier stamps mean that a device has no clock (OPC UA counts from 1601). */
const EARLIEST = Date.UTC(2000, 0, 1);

/** An event's time by its device and by its server; 0 where there is none. */
export type EventStamps = { readonly deviceMs: number; readonly serverMs: number };

export class EventTime {
  /** The answer of the last `judge`. */
  at = 0;
  origin = FROM_RECEIPT;
  readonly #toleranceMs: number;
  readonly #oldestMs: number;
  readonly #source = new Skew();
  readonly #server = new Skew();

  /** @param toleranceMs how far a clock may be off, including the delay between sampling and publishing. `speed`: plant time per real time. */
  constructor(toleranceMs: number, speed = 1) {
    this.#toleranceMs = toleranceMs;
    this.#oldestMs = QUEUE_MS * speed + toleranceMs;
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

  /** One value that may have changed long ago. */
  glimpsed(sourceMs: number, serverMs: number, receivedAt: number): void {
    if (sourceMs > EARLIEST) this.#source.glimpsed(sourceMs - receivedAt);
    if (serverMs > EARLIEST) this.#server.glimpsed(serverMs - receivedAt);
  }

  /** A new session: the clock may have been set, or be another's. */
  unsure(): void {
    this.#source.unsure();
    this.#server.unsure();
  }

  endOfMessage(): void {
    this.#source.close();
    this.#server.close();
  }

  /** Sets `at` and `origin` of a value that changed just now. */
  judgeFresh(sourceMs: number, serverMs: number, receivedAt: number): void {
    const oldest = receivedAt - this.#oldestMs;
    this.judge(sourceMs < oldest ? 0 : sourceMs, serverMs < oldest ? 0 : serverMs, receivedAt);
  }

  /** Sets `at` and `origin`. A stamp may be long past (a value that has not changed), never in the future. */
  judge(sourceMs: number, serverMs: number, receivedAt: number): void {
    if (this.#believes(this.#source, sourceMs, receivedAt)) this.#answer(sourceMs, FROM_SOURCE);
    else if (this.#believes(this.#server, serverMs, receivedAt)) this.#answer(serverMs, FROM_SERVER);
    else this.#answer(receivedAt, FROM_RECEIPT);
  }

  /**
   * Of an event: as a value, but where nothing at all was seen of the clocks its stamp stands unless it lies in the future. A replayed alarm bears the
   * time since when it stands, and a chamber that tells alarms alone has no values to measure a clock by.
   */
  judgeEvent({ deviceMs, serverMs }: EventStamps, receivedAt: number): void {
    if (this.#source.known === null && this.#server.known === null) {
      const isPast = (stampMs: number): boolean => stampMs > EARLIEST && stampMs - receivedAt <= this.#toleranceMs;
      if (isPast(deviceMs)) return this.#answer(deviceMs, FROM_SOURCE);
      if (isPast(serverMs)) return this.#answer(serverMs, FROM_SERVER);
    }
    this.judge(deviceMs, serverMs, receivedAt);
  }

  #believes(skew: Skew, stampMs: number, receivedAt: number): boolean {
    const off = skew.known;
    return off !== null && stampMs > EARLIEST && stampMs - receivedAt <= this.#toleranceMs && Math.abs(off) <= this.#toleranceMs;
  }

  #answer(at: number, origin: number): void {
    this.at = at;
    this.origin = origin;
  }
}

class Skew {
  median: number | null = null;
  #isSure = false;
  #glimpse = -Infinity;
  #largest = -Infinity;
  #recent: number[] = [];

  /** Null: nothing was seen of it in this session. */
  get known(): number | null {
    if (this.#isSure) return this.median;
    return this.#glimpse === -Infinity ? null : this.#glimpse;
  }

  unsure(): void {
    this.#isSure = false;
    this.#glimpse = -Infinity;
    this.#largest = -Infinity;
    this.#recent = [];
  }

  glimpsed(difference: number): void {
    if (difference > this.#glimpse) this.#glimpse = difference;
  }

  saw(difference: number): void {
    if (difference > this.#largest) this.#largest = difference;
    if (!this.#isSure) this.glimpsed(difference);
  }

  close(): void {
    if (this.#largest === -Infinity) return;
    this.#recent.push(this.#largest);
    if (this.#recent.length > MESSAGES) this.#recent.shift();
    this.#largest = -Infinity;
    const sorted = [...this.#recent].sort((a, b) => a - b);
    this.median = sorted[sorted.length >> 1] as number;
    this.#isSure = true;
  }
}
