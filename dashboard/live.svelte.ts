/**
 * The one live source of the pages: the socket to the gateway, the fleet as last heard, and how long ago that was. Every message passes its
 * schema here, once. Frozen is not live: within 5 s without a word the pages are told, and plant time stops where it was last heard.
 */
import { io, type Socket } from 'socket.io-client';
import * as z from 'zod/mini';
import { alertNews, changes, fleet, liveValues, type AlertBrief, type AlertNews, type Fleet, type LiveValues } from '../src/contract.ts';
import { mergeChanges } from './fleet-merge.ts';

/** The gateway speaks at least every 2 s; the wall has to say so within 5 s of the last word. */
export const SILENT_MS = 4200;
const TICK_MS = 250;
const COME_BACK_MS = 700;

type ValuesListener = (values: LiveValues) => void;

export class Live {
  #fleet = $state.raw<Fleet | null>(null);
  #heardMs = $state.raw<number | null>(null);
  #tickMs = $state.raw(0);
  #alerts = $state.raw<readonly AlertBrief[]>([]);
  #alertsRev = $state.raw<number | null>(null);
  #fault = $state.raw<string | null>(null);
  #startedMs = 0;
  #socket: Socket | undefined;
  #timer: ReturnType<typeof setInterval> | undefined;
  #return: ReturnType<typeof setTimeout> | undefined;
  #watched: string | null = null;
  #onValues: ValuesListener | null = null;

  start(): void {
    this.#startedMs = performance.now();
    this.#tickMs = this.#startedMs;
    this.#timer = setInterval(() => (this.#tickMs = performance.now()), TICK_MS);
    const socket = io({ transports: ['websocket'], reconnectionDelay: 300, reconnectionDelayMax: 1500, timeout: 4000 });
    socket.on('connect', () => this.#greet());
    // The library comes back by itself from every loss but one: being sent away, which is how a gateway stops in order.
    socket.on('disconnect', (reason) => reason === 'io server disconnect' && this.#comeBack());
    socket.on('fleet', (message: unknown) => this.#hear(fleet, message, (m) => (this.#fleet = m)));
    socket.on('changes', (message: unknown) => this.#hear(changes, message, (m) => this.#merge(m)));
    socket.on('alerts', (message: unknown) => this.#hear(alertNews, message, (m) => this.#note(m)));
    socket.on('values', (message: unknown) => this.#hear(liveValues, message, (m) => m.chamber === this.#watched && this.#onValues?.(m)));
    this.#socket = socket;
  }

  stop(): void {
    this.#socket?.close();
    clearInterval(this.#timer);
    clearTimeout(this.#return);
  }

  /** Asks for the live values of one chamber; returns the way to stop. One at a time: the last asker wins. */
  watch(chamber: string, listener: ValuesListener): () => void {
    this.#watched = chamber;
    this.#onValues = listener;
    this.#socket?.emit('watch', { chamber });
    return () => {
      if (this.#onValues !== listener) return;
      this.#watched = null;
      this.#onValues = null;
      this.#socket?.emit('watch', { chamber: null });
    };
  }

  get fleet(): Fleet | null {
    return this.#fleet;
  }

  /** The open alerts, as every page knows them. */
  get alerts(): readonly AlertBrief[] {
    return this.#alerts;
  }

  /** Another one after every change of an alert; null before the first word. */
  get alertsRev(): number | null {
    return this.#alertsRev;
  }

  /** Why the last message could not be used, in words. */
  get fault(): string | null {
    return this.#fault;
  }

  /** Milliseconds without a word; before the first word, since the page started. */
  get silentMs(): number {
    return Math.max(0, this.#tickMs - (this.#heardMs ?? this.#startedMs));
  }

  get isCut(): boolean {
    return this.#fleet !== null && this.silentMs >= SILENT_MS;
  }

  /** Plant time now; it stands still while the gateway is silent. */
  get now(): number {
    if (!this.#fleet) return 0;
    const sinceMs = this.isCut ? 0 : this.silentMs;
    return Math.round(this.#fleet.now + sinceMs * this.#fleet.speed);
  }

  get zone(): string {
    return this.#fleet?.site.zone ?? 'UTC';
  }

  #comeBack(): void {
    clearTimeout(this.#return);
    this.#return = setTimeout(() => this.#socket?.connect(), COME_BACK_MS);
  }

  #greet(): void {
    this.#socket?.emit('hello', { boot: this.#fleet?.boot ?? null, rev: this.#fleet?.rev ?? null });
    if (this.#watched !== null) this.#socket?.emit('watch', { chamber: this.#watched });
  }

  #merge(message: z.infer<typeof changes>): void {
    const merged = this.#fleet && mergeChanges(this.#fleet, message);
    if (merged) this.#fleet = merged;
    else this.#socket?.emit('hello', { boot: null, rev: null });
  }

  #note({ rev, isWhole, changed }: AlertNews): void {
    const known = isWhole ? [] : this.#alerts.filter(({ id }) => changed.every((one) => one.id !== id));
    const alerts = [...known, ...changed.filter(({ state }) => state === 'open')];
    [this.#alerts, this.#alertsRev] = [alerts, rev];
  }

  #hear<S extends z.ZodMiniType>(schema: S, message: unknown, use: (m: z.output<S>) => void): void {
    const read = schema.safeParse(message);
    if (!read.success) {
      this.#fault =
        'The gateway said something this page does not understand. Reload the page; if this stays, gateway and page are of different versions.';
      return;
    }
    this.#fault = null;
    this.#heardMs = performance.now();
    this.#tickMs = this.#heardMs;
    use(read.data);
  }
}
