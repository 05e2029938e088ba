/**
 * A sign of life to a watcher outside, who calls somebody when it stays away: the one fault that the gateway cannot tell itself is its own
 * death. It is sent only when the facts are really taken and stored at that moment, so that a gateway that hangs falls silent too. In real
 * time, whatever pace the plant has.
 */
import type { RouteLine } from '../../src/contract.ts';
import { Fault } from '../../src/fault.ts';
import { MINUTE_MS } from '../../src/zone.ts';
import type { Clock } from '../clock.ts';
import type { Resolve } from './address.ts';
import { post } from './http-post.ts';
import type { Outcome } from './retry.ts';
import { readSecrets, type SecretPlace } from './secret.ts';
import { headersOf } from './webhook.ts';

export type Heartbeat = {
  readonly url: string;
  readonly everyMin: number;
  readonly allowPrivate: boolean;
  readonly secrets?: readonly SecretPlace[] | undefined;
};

export type HeartbeatParts = {
  /** As the site file says now; null where nobody watches. */
  readonly setting: () => Heartbeat | null;
  /** Why no sign of life may be given, or null. It looks, it does not remember. */
  readonly faint: () => Promise<string | null>;
  /** As the site file says now. */
  readonly about: () => { readonly site: string; readonly hall: string; readonly version: string };
  readonly clock: Clock;
  readonly log: (message: string, error?: unknown) => void;
  readonly lookMs?: number;
  readonly timeoutMs?: number;
  readonly resolve?: Resolve;
};

const LOOK_MS = 1_000;
const TIMEOUT_MS = 10_000;

export class Heart {
  readonly #parts: HeartbeatParts;
  #timer: NodeJS.Timeout | null = null;
  #beating: Promise<void> | null = null;
  /** Steady. */
  #lastTriedMs = -Infinity;
  #count = 0;
  #lastAt: number | null = null;
  #failingSince: number | null = null;
  #lastError: string | null = null;

  constructor(parts: HeartbeatParts) {
    this.#parts = parts;
  }

  start(): void {
    this.#timer = setInterval(() => this.#look(), this.#parts.lookMs ?? LOOK_MS);
    this.#look();
  }

  async stop(): Promise<void> {
    if (this.#timer !== null) clearInterval(this.#timer);
    await this.#beating;
  }

  /** As a route among the others; null where nobody watches. */
  state(): RouteLine | null {
    const setting = this.#parts.setting();
    if (setting === null) return null;
    const { protocol, host } = new URL(setting.url);
    return {
      route: 'heartbeat',
      type: 'heartbeat',
      place: `${protocol}//${host}`,
      state: this.#failingSince !== null ? 'failing' : this.#lastAt === null ? 'unused' : 'well',
      lastDeliveredAt: this.#lastAt,
      failingSince: this.#failingSince,
      lastError: this.#lastError,
      waiting: 0,
      dead: 0,
    };
  }

  #look(): void {
    const setting = this.#parts.setting();
    const now = this.#parts.clock.steadyMs();
    if (setting === null || this.#beating !== null || now - this.#lastTriedMs < setting.everyMin * MINUTE_MS) return;
    this.#lastTriedMs = now;
    this.#beating = this.#beat(setting).finally(() => (this.#beating = null));
  }

  async #beat(setting: Heartbeat): Promise<void> {
    const { clock, log } = this.#parts;
    const outcome = await this.#attempt(setting);
    if (outcome.type === 'delivered') {
      this.#lastAt = clock.now();
      this.#failingSince = this.#lastError = null;
      return;
    }
    this.#failingSince ??= clock.now();
    if (this.#lastError !== outcome.reason) log(`No sign of life was given to the watcher: ${outcome.reason}`);
    this.#lastError = outcome.reason;
  }

  async #attempt({ url, allowPrivate, secrets: places = [] }: Heartbeat): Promise<Outcome> {
    const { faint, about, clock, timeoutMs = TIMEOUT_MS, resolve } = this.#parts;
    try {
      const weak = await faint();
      if (weak !== null) return { type: 'failed', reason: weak, afterMs: null };
      this.#count += 1;
      const body = JSON.stringify({ ...about(), alive: true, at: new Date(clock.now()).toISOString() });
      const headers = headersOf({ secrets: await readSecrets(places) }, `heartbeat/${Date.now()}/${this.#count}`, body);
      return await post({ url, allowPrivate, headers, body, timeoutMs, resolve, whom: 'watcher' });
    } catch (error) {
      return {
        type: 'failed',
        reason: error instanceof Fault ? error.message : 'The store or the pipeline did not answer.',
        afterMs: null,
      };
    }
  }
}
