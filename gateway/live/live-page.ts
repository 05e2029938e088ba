/**
 * One connected page: what it saw last, what it watches, and whether it still takes what it is sent.
 */
import type { Socket } from 'socket.io';
import type { Changes, LiveValues, ToGateway, ToPage } from '../../src/contract.ts';
import type { HubLimits } from './hub.ts';
import type { AlertsView, LiveView } from './live-port.ts';

type PageContext = {
  readonly view: LiveView;
  readonly alerts: AlertsView;
  readonly steadyMs: () => number;
  readonly limits: HubLimits;
};

const FLOOD_WINDOW_MS = 10_000;
/** A revision no view knows: whoever saw this gets the whole. */
const NEVER = -1;

export class LivePage {
  readonly #socket: Socket<ToGateway, ToPage>;
  readonly #context: PageContext;
  readonly #onCut: (reason: string) => void;
  /** Null until the page said hello. */
  #seenRev: number | null = null;
  /** Null until it was told of the alerts. */
  #alertsRev: number | null = null;
  #watched: string | null = null;
  #lastValues: LiveValues | null = null;
  #sentAt: number;
  #stalledSince: number | null = null;
  #isCut = false;
  #heard: { since: number; messages: number };

  constructor(socket: Socket<ToGateway, ToPage>, context: PageContext, onCut: (reason: string) => void) {
    this.#socket = socket;
    this.#context = context;
    this.#onCut = onCut;
    this.#sentAt = context.steadyMs();
    this.#heard = { since: this.#sentAt, messages: 0 };
  }

  /** The difference to what the page says it saw; the whole when that was another boot or is unknown. At once, unless it is stalled. */
  greet({ boot, rev }: { readonly boot: string | null; readonly rev: number | null }): void {
    const { view } = this.#context;
    this.#seenRev = boot === view.boot && rev !== null ? rev : NEVER;
    this.#alertsRev = null;
    this.#sentAt = -Infinity;
    this.tick(
      (seen) => view.since(seen),
      () => null,
    );
  }

  watch(chamber: string | null): void {
    this.#watched = chamber;
    this.#lastValues = null;
  }

  /** False when a page talks more than any page needs to. */
  mayListen(): boolean {
    const now = this.#context.steadyMs();
    if (now - this.#heard.since > FLOOD_WINDOW_MS) this.#heard = { since: now, messages: 0 };
    this.#heard.messages += 1;
    return this.#heard.messages <= this.#context.limits.messagesPer10S;
  }

  tick(differences: (rev: number) => Changes | null, values: (chamber: string) => LiveValues | null): void {
    const now = this.#context.steadyMs();
    if (this.#isCut || this.#isStalled(now)) return;
    if (this.#seenRev === null) {
      if (now - this.#sentAt > this.#context.limits.helloMs) this.cut('no hello');
      return;
    }
    this.#tellChanges(now, differences);
    this.#tellAlerts();
    this.#tellValues(values);
  }

  /** Ends the connection at once: an orderly close would wait for a page that takes nothing. */
  cut(reason: string): void {
    if (this.#isCut) return;
    this.#isCut = true;
    this.#onCut(reason);
    const raw = this.#socket.request.socket;
    this.#socket.disconnect(true);
    raw.destroy();
  }

  #tellChanges(now: number, differences: (rev: number) => Changes | null): void {
    const seen = this.#seenRev as number;
    const due = this.#context.view.rev !== seen || now - this.#sentAt >= this.#context.limits.heartbeatMs;
    if (!due) return;
    const difference = differences(seen);
    if (difference === null) this.#sendFleet();
    else this.#sendChanges(difference);
  }

  #tellAlerts(): void {
    const { alerts } = this.#context;
    if (alerts.rev === this.#alertsRev) return;
    const news = alerts.news(this.#alertsRev);
    this.#alertsRev = news.rev;
    this.#socket.emit('alerts', news);
  }

  #tellValues(values: (chamber: string) => LiveValues | null): void {
    if (this.#watched === null) return;
    const latest = values(this.#watched);
    if (latest === null || isSame(latest, this.#lastValues)) return;
    this.#lastValues = latest;
    this.#socket.emit('values', latest);
  }

  #sendFleet(): void {
    const whole = this.#context.view.fleet();
    this.#sent(whole.rev);
    this.#socket.emit('fleet', whole);
  }

  #sendChanges(difference: Changes): void {
    this.#sent(difference.rev);
    this.#socket.emit('changes', difference);
  }

  #sent(rev: number): void {
    this.#seenRev = rev;
    this.#sentAt = this.#context.steadyMs();
  }

  /** Something sent earlier has not left the process: nothing more is queued, and after a while the page is cut. */
  #isStalled(now: number): boolean {
    if (this.#socket.conn.transport.writable) {
      this.#stalledSince = null;
      return false;
    }
    this.#stalledSince ??= now;
    const waiting = this.#socket.request.socket.writableLength;
    if (waiting > this.#context.limits.waitingBytes || now - this.#stalledSince > this.#context.limits.stallMs) this.cut('stalled');
    return true;
  }
}

/** Nothing new was read: the values carry the same times. */
function isSame(a: LiveValues, b: LiveValues | null): boolean {
  return b !== null && a.values.length === b.values.length && a.values.every((value, n) => value.at === b.values[n]?.at);
}
