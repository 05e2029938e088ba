/**
 * One link process and its servers: started, heard, and started again when it dies, until it dies too often.
 */
import { fork } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { join } from 'node:path';
import { eachInBatch } from '../../src/batch.ts';
import type { LinkSite } from '../../src/link-need.ts';
import type { Reading } from '../../src/reading.ts';
import { SIGNAL_NAMES } from '../../src/signal.ts';
import type { Signal } from '../../src/signal.ts';
import type { Clock } from '../clock.ts';
import type { AcknowledgeAnswer, AcknowledgeRequest, LinkEvents, ServerStatus } from './link-port.ts';
import { originOfTag, qualityOfTag } from './wire.ts';
import type { LinkNews, LinkOrder } from './wire.ts';

const STOP_MS = 2000;
const ACKNOWLEDGE_MS = 15_000;
const NOT_SENT = 'The link is being started again, so nothing was sent to the chamber. Try again in a moment.';
const NO_ANSWER =
  'The chamber’s server did not answer in time; whether it took the acknowledgement is not known. Look at the alarm, then try again.';
const NO_COUNTERS = { values: 0, sequenceGaps: 0, overflows: 0, rebuilds: 0, handlerErrors: 0 };

/** More than `limit` deaths in `withinMs` are too often; then the next start waits `pauseMs`. */
export type RestartRule = { readonly limit: number; readonly withinMs: number; readonly pauseMs: number };

export type LinkProcessParts = {
  readonly site: LinkSite;
  readonly clock: Clock;
  readonly pkiFolder: string;
  readonly events: LinkEvents;
  readonly rule: RestartRule;
  readonly heardUntil: Readonly<Record<string, number>>;
  /** Asked at a death too many; true when others take the servers over. */
  readonly giveUp: () => boolean;
};

type Named = { readonly chamber: string; readonly signal: Signal };

/** One string object per word, flat: every map and comparison from here on is cheaper by it. */
const WORDS = new Map<string, string>(SIGNAL_NAMES.map((name) => [name, name]));
function word(text: string): string {
  const known = WORDS.get(text);
  if (known === undefined) WORDS.set(text, text);
  return known ?? text;
}

export class LinkProcess {
  readonly #parts: LinkProcessParts;
  readonly #named = new Map<string, Named>();
  /** When each chamber was last said to be heard. */
  readonly #heardAt = new Map<string, number>();
  readonly #statuses = new Map<string, ServerStatus>();
  #site: LinkSite;
  /** All names that this process has sent so far, by number. */
  #names: string[] = [];
  /** When each server was last heard, by an earlier gateway or by a process of ours that died. */
  #heardUntil: Readonly<Record<string, number>>;
  readonly #asking = new Map<number, (answer: AcknowledgeAnswer) => void>();
  #asked = 0;
  #deaths: number[] = [];
  #child: ChildProcess | null = null;
  #stopping = false;
  #timer: NodeJS.Timeout | null = null;
  #lastWords = '';

  constructor(parts: LinkProcessParts) {
    this.#parts = parts;
    this.#site = parts.site;
    this.#heardUntil = parts.heardUntil;
  }

  get pid(): number | null {
    return this.#child?.pid ?? null;
  }

  get site(): LinkSite {
    return this.#site;
  }

  /** When each server was last heard, as far as a process that died has told. */
  get heardUntil(): Readonly<Record<string, number>> {
    return this.#heardUntil;
  }

  /** Other servers, chambers or tags: what is the same goes on untouched. `heardUntil` is of servers that are new here. */
  change(site: LinkSite, heardUntil: Readonly<Record<string, number>>): void {
    const ids = new Set(site.chambers.map(({ id }) => id));
    for (const chamber of this.#heardAt.keys()) if (!ids.has(chamber)) this.#heardAt.delete(chamber);
    this.#heardUntil = { ...heardUntil, ...this.#heardUntil };
    this.#site = site;
    if (this.#child?.connected === true) this.#child.send({ type: 'change', site, heardUntil } satisfies LinkOrder);
  }

  /** Where none can be started, for want of memory or of open files, it is as if it had died. */
  start(): void {
    try {
      this.#launch();
    } catch (error) {
      this.#died(error instanceof Error ? error.message : String(error));
    }
  }

  #launch(): void {
    const { clock, pkiFolder } = this.#parts;
    const site = this.#site;
    const child = fork(join(import.meta.dirname, 'child.ts'), [], {
      serialization: 'advanced',
      stdio: ['ignore', 'ignore', 'pipe', 'ipc'],
      execArgv: [],
    });
    this.#child = child;
    this.#names = [];
    // What a dead process still had in its pipe is not taken: its end was told already.
    child.on('message', (news) => void (this.#child === child && this.#hear(news as LinkNews)));
    child.stderr?.setEncoding('utf8').on('data', (text: string) => (this.#lastWords = (this.#lastWords + text).slice(-2000)));
    child.on('error', (error) => {
      this.#lastWords = error.message;
      // One that was never started has no end of its own.
      if (child.pid === undefined && this.#child === child) this.#died(error.message);
    });
    child.once('exit', (code, signal) => this.#died(signal ?? `exit code ${code}`));
    const realMs = Date.now();
    const setting = { realMs, plantMs: clock.now(), speed: clock.speed };
    child.send({ type: 'open', site, clock: setting, pkiFolder, heardUntil: this.#heardUntil } satisfies LinkOrder);
  }

  /** Never rejects: no answer in time is an answer too. */
  acknowledge(request: AcknowledgeRequest): Promise<AcknowledgeAnswer> {
    const { promise, resolve } = Promise.withResolvers<AcknowledgeAnswer>();
    const id = ++this.#asked;
    const late = setTimeout(() => this.#answered(id, { done: false, text: NO_ANSWER }), ACKNOWLEDGE_MS);
    this.#asking.set(id, (answer) => (clearTimeout(late), resolve(answer)));
    if (this.#child?.connected === true) this.#child.send({ type: 'acknowledge', id, request } satisfies LinkOrder);
    else this.#answered(id, { done: false, text: NOT_SENT });
    return promise;
  }

  #answered(id: number, answer: AcknowledgeAnswer): void {
    this.#asking.get(id)?.(answer);
    this.#asking.delete(id);
  }

  async stop(): Promise<void> {
    this.#stopping = true;
    if (this.#timer) clearTimeout(this.#timer);
    const child = this.#child;
    if (!child) return;
    const gone = new Promise<void>((resolve) => child.once('exit', () => resolve()));
    if (child.connected) child.send({ type: 'close' } satisfies LinkOrder);
    const hard = setTimeout(() => child.kill('SIGKILL'), STOP_MS);
    await gone;
    clearTimeout(hard);
  }

  #hear(news: LinkNews): void {
    const { events } = this.#parts;
    if (news.type === 'status') {
      this.#statuses.set(news.status.server, news.status);
      return events.server(news.status);
    }
    if (news.type === 'acknowledged') return this.#answered(news.id, news.answer);
    if (news.type === 'own-certificate') return events.own?.(news.certificate);
    const { batch, receivedAt } = news;
    for (const name of batch.names) this.#names.push(name);
    const readings: Reading[] = [];
    eachInBatch({ ...batch, names: this.#names }, (name, at, value, tag) => {
      const { chamber, signal } = this.#partsOf(name);
      if (signal === 'link.alive' && value === true) this.#heardAt.set(chamber, at);
      const timeOrigin = originOfTag(tag);
      readings.push({
        chamber,
        signal,
        value,
        quality: qualityOfTag(tag),
        at,
        timeOrigin,
        receivedAt: timeOrigin === 'archive' ? at : receivedAt,
      });
    });
    if (readings.length > 0) events.readings(readings);
  }

  #partsOf(name: string): Named {
    const known = this.#named.get(name);
    if (known) return known;
    const cut = name.indexOf('\t');
    const named = { chamber: word(name.slice(0, cut)), signal: word(name.slice(cut + 1)) as Signal };
    this.#named.set(name, named);
    return named;
  }

  #died(how: string): void {
    this.#child = null;
    for (const id of [...this.#asking.keys()]) this.#answered(id, { done: false, text: NO_ANSWER });
    this.#tellUnheard();
    if (this.#stopping) return;
    this.#parts.events.died?.();
    const { clock, rule } = this.#parts;
    const now = clock.steadyMs();
    this.#deaths = [...this.#deaths, now].filter((death) => now - death < rule.withinMs);
    const tooOften = this.#deaths.length > rule.limit;
    if (tooOften && this.#parts.giveUp()) return;
    const waitMs = tooOften ? rule.pauseMs : 0;
    this.#tellRestart(how, waitMs);
    this.#timer = setTimeout(() => this.start(), waitMs);
  }

  /** Nobody listened since: every chamber is unheard from its last word on. */
  #tellUnheard(): void {
    const receivedAt = this.#parts.clock.now();
    for (const { id, server } of this.#site.chambers) {
      const heardAt = this.#heardAt.get(id);
      if (heardAt !== undefined) this.#heardUntil = { ...this.#heardUntil, [server]: heardAt };
    }
    const silent = { signal: 'link.alive', value: false, quality: 'good', timeOrigin: 'receipt', receivedAt } as const;
    const readings = [...this.#heardAt].map(([chamber, at]): Reading => ({ ...silent, chamber, at: at + 1 }));
    this.#heardAt.clear();
    if (readings.length > 0) this.#parts.events.readings(readings);
  }

  #tellRestart(how: string, waitMs: number): void {
    const why = /^.*Error.*$/m.exec(this.#lastWords)?.[0].slice(0, 160) ?? how;
    this.#lastWords = '';
    const minutes = Math.round(waitMs / 60_000);
    const next = waitMs > 0 ? `the next try is in ${minutes} minutes; restart the gateway to try at once` : 'it was started again';
    for (const { name } of this.#site.servers) {
      const before = this.#statuses.get(name);
      this.#parts.events.server({
        server: name,
        state: waitMs > 0 ? 'refused' : 'connecting',
        message: `The link process ended unexpectedly (${why}); ${next}.`,
        skewMs: before?.skewMs ?? null,
        lastHeardAt: before?.lastHeardAt ?? null,
        badTags: before?.badTags ?? [],
        counters: before?.counters ?? NO_COUNTERS,
      });
    }
  }
}
