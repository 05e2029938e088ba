/**
 * Is the word of one server current? Judged by our own deadlines on the steady clock, never by a library's events: nothing heard on a
 * subscription for one and a half keep-alive periods is silence, dated back to the instant last heard.
 * A silence after which every value arrived late but complete was no hole: it is closed at the instant it began.
 * Silence is stamped one millisecond after the last word, its closing two: so that no two words bear the same instant.
 */
const SLACK_MS = 1000;
const TELL_EVERY_MS = 2500;

type Heard = { lastSteadyMs: number; readonly deadlineMs: number };

export type TellPresence = (alive: boolean, at: number) => void;

export class Presence {
  /** Null until something was heard or missed. */
  alive: boolean | null = null;
  lastHeardAt: number | null = null;
  readonly #lines = new Map<string, Heard>();
  readonly #tell: TellPresence;
  #toldAt = -Infinity;
  /** No value is known to be lost since last heard. */
  #complete = true;
  #resumed = { steadyMs: 0, withHole: true };

  constructor(tell: TellPresence) {
    this.#tell = tell;
  }

  /** Somebody before us heard the server until then; what it said meanwhile is lost, or must be read back. */
  resume(lastHeardAt: number): void {
    this.lastHeardAt = lastHeardAt;
    this.#complete = false;
  }

  /** A subscription that must be heard at least every `keepAliveMs` from now on. */
  expect(line: string, keepAliveMs: number, steadyMs: number): void {
    this.#lines.set(line, { lastSteadyMs: steadyMs, deadlineMs: keepAliveMs * 1.5 + SLACK_MS });
  }

  expectNothing(): void {
    this.#lines.clear();
  }

  /** Before the values of a message: closes a silence that lost nothing. */
  beginMessage(): void {
    if (this.alive === false && this.#complete && this.lastHeardAt !== null) this.#tell(true, this.lastHeardAt + 2);
  }

  /** After the values of a message. */
  endMessage(line: string, at: number, steadyMs: number): void {
    const heard = this.#lines.get(line);
    if (heard) heard.lastSteadyMs = steadyMs;
    if (this.alive !== true) {
      this.#resumed = { steadyMs, withHole: !this.#complete || this.lastHeardAt === null };
      this.#toldAt = -Infinity;
    }
    this.alive = true;
    this.#complete = true;
    this.lastHeardAt = at;
    if (Math.abs(at - this.#toldAt) < TELL_EVERY_MS) return;
    this.#toldAt = at;
    this.#tell(true, at);
  }

  /** How far the most overdue subscription is, in deadlines: 1 and more is silence. */
  overdue(steadyMs: number): number {
    let worst = 0;
    for (const { lastSteadyMs, deadlineMs } of this.#lines.values()) worst = Math.max(worst, (steadyMs - lastSteadyMs) / deadlineMs);
    return worst;
  }

  /** The longest time since a subscription was heard. */
  silentMs(steadyMs: number): number {
    let longest = 0;
    for (const { lastSteadyMs } of this.#lines.values()) longest = Math.max(longest, steadyMs - lastSteadyMs);
    return longest;
  }

  /** Nothing heard within the deadline, or never (then dated `at`). */
  fallSilent(at: number): void {
    if (this.alive === false) return;
    this.alive = false;
    this.#tell(false, this.lastHeardAt === null ? at : this.lastHeardAt + 1);
  }

  /** Values of this line were lost (a new subscription, a gap in the sequence): the silence is a hole. */
  lose(line: string): void {
    const heard = this.#lines.get(line);
    const holeIsTold = this.alive === true && this.#resumed.withHole && heard !== undefined && heard.lastSteadyMs < this.#resumed.steadyMs;
    if (holeIsTold) return;
    this.#complete = false;
    if (this.alive !== true || this.lastHeardAt === null) return;
    this.alive = false;
    this.#tell(false, this.lastHeardAt + 1);
  }
}
