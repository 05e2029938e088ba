/**
 * The gateway's end of the link: starts the link process, unpacks what it hears, and starts it again when it dies, but not for ever in a row.
 */
import { fork } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { join } from 'node:path';
import { eachInBatch } from '../../src/batch.ts';
import type { SiteFile } from '../../src/config.ts';
import type { Reading } from '../../src/reading.ts';
import type { Signal } from '../../src/signal.ts';
import type { Clock } from '../clock.ts';
import type { Link, LinkEvents, ServerStatus } from './link-port.ts';
import { originOfTag, qualityOfTag } from './wire.ts';
import type { LinkNews, LinkOrder } from './wire.ts';

const STOP_MS = 2000;
const NO_COUNTERS = { values: 0, sequenceGaps: 0, overflows: 0, rebuilds: 0, handlerErrors: 0 };

/** More than `limit` deaths in `withinMs`, and the next start waits `pauseMs`. */
export type RestartRule = { readonly limit: number; readonly withinMs: number; readonly pauseMs: number };
export const RESTART: RestartRule = { limit: 5, withinMs: 60_000, pauseMs: 300_000 };

export type LinkOptions = {
  readonly site: SiteFile;
  readonly clock: Clock;
  readonly pkiFolder: string;
  readonly events: LinkEvents;
  readonly restart?: RestartRule;
};

export function openLink(options: LinkOptions): OpcUaLink {
  return new OpcUaLink(options);
}

type Named = { readonly chamber: string; readonly signal: Signal };

export class OpcUaLink implements Link {
  readonly #options: LinkOptions;
  readonly #rule: RestartRule;
  readonly #parts = new Map<string, Named>();
  /** All names that this link process has sent so far, by number. */
  #names: string[] = [];
  /** When each chamber was last said to be heard. */
  readonly #heardAt = new Map<string, number>();
  readonly #statuses = new Map<string, ServerStatus>();
  #deaths: number[] = [];
  #child: ChildProcess | null = null;
  #stopping = false;
  #timer: NodeJS.Timeout | null = null;
  #lastWords = '';

  constructor(options: LinkOptions) {
    this.#options = options;
    this.#rule = options.restart ?? RESTART;
  }

  /** Of the link process, for those who watch its cost; null while there is none. */
  get pid(): number | null {
    return this.#child?.pid ?? null;
  }

  start(): Promise<void> {
    this.#stopping = false;
    this.#launch();
    return Promise.resolve();
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

  #launch(): void {
    const { site, clock, pkiFolder } = this.#options;
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
    child.on('error', (error) => (this.#lastWords = error.message));
    child.once('exit', (code, signal) => this.#died(signal ?? `exit code ${code}`));
    const { servers, templates, chambers } = site;
    child.send({
      type: 'open',
      site: { servers, templates, chambers },
      clock: { realMs: Date.now(), plantMs: clock.now(), speed: clock.speed },
      pkiFolder,
    } satisfies LinkOrder);
  }

  #hear(news: LinkNews): void {
    if (news.type === 'status') {
      this.#statuses.set(news.status.server, news.status);
      return this.#options.events.server(news.status);
    }
    const { batch, receivedAt } = news;
    for (const name of batch.names) this.#names.push(name);
    const readings: Reading[] = [];
    eachInBatch({ ...batch, names: this.#names }, (name, at, value, tag) => {
      const { chamber, signal } = this.#named(name);
      if (signal === 'link.alive' && value === true) this.#heardAt.set(chamber, at);
      readings.push({ chamber, signal, value, quality: qualityOfTag(tag), at, timeOrigin: originOfTag(tag), receivedAt });
    });
    if (readings.length > 0) this.#options.events.readings(readings);
  }

  #named(name: string): Named {
    const known = this.#parts.get(name);
    if (known) return known;
    const cut = name.indexOf('\t');
    const named = { chamber: name.slice(0, cut), signal: name.slice(cut + 1) as Signal };
    this.#parts.set(name, named);
    return named;
  }

  #died(how: string): void {
    this.#child = null;
    this.#tellUnheard();
    if (this.#stopping) return;
    const now = this.#options.clock.steadyMs();
    this.#deaths = [...this.#deaths, now].filter((death) => now - death < this.#rule.withinMs);
    const waitMs = this.#deaths.length > this.#rule.limit ? this.#rule.pauseMs : 0;
    this.#tellRestart(how, waitMs);
    this.#timer = setTimeout(() => this.#launch(), waitMs);
  }

  /** Nobody listened since: every chamber is unheard from its last word on. */
  #tellUnheard(): void {
    const receivedAt = this.#options.clock.now();
    const readings = [...this.#heardAt].map(
      ([chamber, at]): Reading => ({ chamber, signal: 'link.alive', value: false, quality: 'good', at: at + 1, timeOrigin: 'receipt', receivedAt }),
    );
    this.#heardAt.clear();
    if (readings.length > 0) this.#options.events.readings(readings);
  }

  #tellRestart(how: string, waitMs: number): void {
    const why = this.#lastWords.split('\n').find((line) => /Error/.test(line))?.slice(0, 160) ?? how;
    this.#lastWords = '';
    const next = waitMs > 0 ? `the next try is in ${Math.round(waitMs / 60_000)} minutes; restart the gateway to try at once` : 'it was started again';
    for (const { name } of this.#options.site.servers) {
      const before = this.#statuses.get(name);
      this.#options.events.server({
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
