/**
 * Who is to be told: of each alert as it opens and closes, for the same commit as its cause; and, looked at every few seconds, of what has
 * become due since (src/alert-plan.ts: repeats, escalations, what was muted), all of a look in one transaction. Mutes are known here as
 * of the last look; a message that waits is judged once more when it leaves.
 */
import type { Mute } from '../../src/alert-mute.ts';
import { followUps, plannedDeliveries, type TellPlan } from '../../src/alert-plan.ts';
import type { Calendar } from '../../src/calendar.ts';
import type { Alert, Delivery } from '../../src/contract.ts';
import { DAY_MS } from '../../src/zone.ts';
import type { Clock } from '../clock.ts';
import type { OutboxStore } from './deliver.ts';

export type TellSetting = { readonly tellOf: (kind: string, severity?: Alert['severity']) => TellPlan; readonly calendar: Calendar };

export type TellBookParts = {
  readonly store: OutboxStore;
  readonly setting: () => TellSetting;
  readonly clock: Clock;
  /** New messages are due. */
  readonly onPlanned: () => void;
  /** The store failed: the process must end and reopen. */
  readonly onFatal: (error: unknown) => void;
  readonly lookMs?: number;
};

const LOOK_MS = 5_000;
/** Whoever an alert was escalated to hears of its end, also when the gateway was down meanwhile. */
const END_OWED_MS = DAY_MS;

export class TellBook {
  readonly #parts: TellBookParts;
  #mutes: readonly Mute[] = [];
  #timer: NodeJS.Timeout | null = null;
  #looking: Promise<void> | null = null;

  constructor(parts: TellBookParts) {
    this.#parts = parts;
  }

  /** Knows the mutes; `look` comes every few seconds from then on. */
  async start(): Promise<void> {
    this.#mutes = await this.#parts.store.mutes(this.#parts.clock.now());
    this.#timer = setInterval(() => this.look(), this.#parts.lookMs ?? LOOK_MS);
  }

  async stop(): Promise<void> {
    if (this.#timer !== null) clearInterval(this.#timer);
    await this.#looking;
  }

  /** For the commit in which these alerts opened, changed or closed. */
  planned(alerts: readonly Alert[], now: number): readonly Delivery[] {
    const { tellOf, calendar } = this.#parts.setting();
    return alerts.flatMap((alert) =>
      plannedDeliveries(alert, { tell: tellOf(alert.kind, alert.severity), mutes: this.#mutes, calendar, now }),
    );
  }

  /** Also after a mute was made or ended. */
  look(): void {
    this.#looking ??= this.#look()
      .catch(this.#parts.onFatal)
      .finally(() => (this.#looking = null));
  }

  async #look(): Promise<void> {
    const { store, clock, setting, onPlanned } = this.#parts;
    const { tellOf, calendar } = setting();
    const now = clock.now();
    this.#mutes = await store.mutes(now);
    const alerts = await this.#undecided(now);
    if (alerts.length === 0) return;
    const deliveries = Map.groupBy(await store.deliveries({ alerts: alerts.map(({ id }) => id) }), ({ alert }) => alert);
    const due = alerts.flatMap((alert) =>
      followUps(alert, deliveries.get(alert.id) ?? [], { tell: tellOf(alert.kind, alert.severity), mutes: this.#mutes, calendar, now }),
    );
    if (due.length === 0) return;
    await store.saveDeliveries(due);
    onPlanned();
  }

  /** Those open, and those that closed lately. */
  async #undecided(now: number): Promise<readonly Alert[]> {
    const { store } = this.#parts;
    const [open, late] = await Promise.all([store.alerts({ state: 'open' }), store.alerts({ state: 'closed', from: now - END_OWED_MS })]);
    return [...open, ...late];
  }
}
