/**
 * The open alerts as every page must know them at once: what changed since a page last heard, small enough to be sent at each change.
 * Looking costs nothing while nothing changed. A mute carries its end, so that pages see it run out without a word from us.
 */
import { muteOf, type Mute } from '../src/alert-mute.ts';
import type { Alert, AlertBrief, AlertNews } from '../src/contract.ts';
import type { Clock } from './clock.ts';
import type { ActStore, AlertStore } from './store/store.ts';

type BoardParts = { readonly store: Pick<AlertStore, 'alerts'> & Pick<ActStore, 'mutes'>; readonly clock: Clock };
type Kept = { readonly alert: Alert; readonly brief: AlertBrief; readonly rev: number };

/** Closed alerts are kept this many changes long, so that a page that missed some still hears that they closed. */
const KEPT_CHANGES = 1_000;

export class AlertBoard {
  readonly #parts: BoardParts;
  readonly #kept = new Map<string, Kept>();
  #mutes: readonly Mute[] = [];
  #rev = 0;
  /** A page that heard less than this gets the whole. */
  #oldest = 0;

  constructor(parts: BoardParts) {
    this.#parts = parts;
  }

  /** What is committed meanwhile is to be noted already: it is newer than what is read. */
  async start(): Promise<void> {
    this.#mutes = await this.#parts.store.mutes(this.#parts.clock.now());
    const open = await this.#parts.store.alerts({ state: 'open' });
    for (const alert of open) this.#keep(inHandsOf(this.#kept.get(alert.id)?.alert ?? alert, alert));
  }

  /** Alerts as a rule left them; in whose hands they are, it does not know. */
  note(alerts: readonly Alert[]): void {
    for (const alert of alerts) this.#keep(inHandsOf(alert, this.#kept.get(alert.id)?.alert ?? alert));
  }

  /** An alert after a person's act. */
  acted(alert: Alert): void {
    this.#keep(alert);
  }

  /** After a mute was made or ended. */
  async muted(): Promise<void> {
    this.#mutes = await this.#parts.store.mutes(this.#parts.clock.now());
    for (const { alert } of [...this.#kept.values()]) this.#keep(alert);
  }

  get rev(): number {
    return this.#rev;
  }

  /** What changed after that revision; of a revision that is not known, the open alerts as a whole. */
  news(after: number | null): AlertNews {
    const open = [...this.#kept.values()].filter(({ alert }) => alert.state === 'open');
    const isWhole = after === null || after < this.#oldest || after > this.#rev;
    const changed = isWhole ? open : [...this.#kept.values()].filter(({ rev }) => rev > after);
    return { rev: this.#rev, open: open.length, isWhole, changed: changed.map(({ brief }) => brief) };
  }

  #keep(alert: Alert): void {
    this.#rev += 1;
    this.#kept.set(alert.id, { alert, brief: briefOf(alert, this.#mutes), rev: this.#rev });
    for (const [id, { alert: old, rev }] of this.#kept)
      if (old.state === 'closed' && rev <= this.#rev - KEPT_CHANGES) {
        this.#kept.delete(id);
        this.#oldest = Math.max(this.#oldest, rev);
      }
  }
}

const inHandsOf = (alert: Alert, { acknowledgedAt, acknowledgedBy, takenAt, takenBy }: Alert): Alert => ({
  ...alert,
  ...{ acknowledgedAt, acknowledgedBy, takenAt, takenBy },
});

function briefOf(alert: Alert, mutes: readonly Mute[]): AlertBrief {
  const { id, kind, chamber, severity, state, startedAt, headline, acknowledgedBy, takenBy, partOf } = alert;
  const mutedUntil = muteOf(alert, mutes)?.until ?? null;
  return { id, kind, chamber, severity, state, startedAt, headline, acknowledgedBy, takenBy, partOf, mutedUntil };
}
