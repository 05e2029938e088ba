/**
 * The gateway's own OPC UA server, from the gateway's side: its process is started, fed with what changed once a second and with the numbers of
 * the day once a minute. Where it cannot be started, as when its port is taken, and when it dies, it is tried until it stands; nothing else waits
 * for it. Nobody can write to it.
 */
import { fork, type ChildProcess } from 'node:child_process';
import { join } from 'node:path';
import { ServeFeed, type FeedParts } from './serve-feed.ts';
import type { ServeNews, ServeOrder, ServeSetting } from './serve-port.ts';

const FEED_MS = 1_000;
const NUMBERS_MS = 60_000;
const FIRST_PAUSE_MS = 5_000;
const LAST_PAUSE_MS = 60_000;
const STOP_MS = 2_000;
const START_MS = 30_000;

export type ServeParts = Omit<FeedParts, 'send'> & {
  readonly setting: ServeSetting;
  readonly pkiFolder: string;
  readonly version: string;
};
/** Its address, and the thumbprint of its certificate, '' without security. */
export type Served = { readonly endpoint: string; readonly thumbprint: string };

export class FleetServer {
  readonly #parts: ServeParts;
  #child: ChildProcess | null = null;
  #feed: ServeFeed | null = null;
  #timers: NodeJS.Timeout[] = [];
  #retry: NodeJS.Timeout | undefined;
  #pauseMs = FIRST_PAUSE_MS;
  #trouble: string | null = null;
  #stopping = false;

  constructor(parts: ServeParts) {
    this.#parts = parts;
  }

  /** Of its process; null when none runs. */
  get pid(): number | null {
    return this.#child?.pid ?? null;
  }

  /** Why nobody can read the fleet at present, with the cure; null while it is served. */
  get trouble(): string | null {
    return this.#trouble;
  }

  /** Null where it could not be started at once: then `trouble` says why, and it is tried until it stands. */
  start(): Promise<Served | null> {
    this.#timers = [setInterval(() => this.#feed?.feed(), FEED_MS), setInterval(() => void this.#feed?.count(), NUMBERS_MS)];
    return this.#try();
  }

  async stop(): Promise<void> {
    this.#stopping = true;
    for (const timer of this.#timers) clearInterval(timer);
    clearTimeout(this.#retry);
    const child = this.#child;
    if (child === null) return;
    const gone = new Promise<void>((resolve) => child.once('exit', () => resolve()));
    send(child, { type: 'close' });
    const hard = setTimeout(() => child.kill('SIGKILL'), STOP_MS);
    await gone;
    clearTimeout(hard);
  }

  async #try(): Promise<Served | null> {
    try {
      const { endpoint, thumbprint } = await this.#launch();
      this.#pauseMs = FIRST_PAUSE_MS;
      this.#trouble = null;
      const how = thumbprint === '' ? 'without security' : `certificate ${thumbprint}`;
      this.#parts.log(`The fleet is served over OPC UA at ${endpoint}, ${how}.`);
      return { endpoint, thumbprint };
    } catch (error) {
      if (!this.#stopping) this.#again(error instanceof Error ? error.message : String(error));
      return null;
    }
  }

  async #launch(): Promise<Served> {
    const { setting, pkiFolder, version, view, numbers, log } = this.#parts;
    const child = fork(join(import.meta.dirname, 'serve-child.ts'), [], {
      serialization: 'advanced',
      stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
      execArgv: [],
    });
    this.#child = child;
    const gone = (): void => void (this.#child === child && (this.#child = null));
    child.once('exit', gone);
    // Of a process that could not be started this is the only word.
    child.on('error', () => void (child.pid === undefined && gone()));
    const { site, chambers } = view.fleet();
    const named = chambers.map(({ chamber, name, bay }) => ({ id: chamber, name, bay }));
    send(child, { type: 'open', setting, pkiFolder, version, site, chambers: named });
    const news = await first(child);
    if (news.type === 'failed') {
      child.kill('SIGKILL');
      throw new Error(refusal(setting, news.message));
    }
    child.once('exit', () => this.#died());
    this.#feed = new ServeFeed({ view, numbers, log, send: (order, done) => send(child, order, done) });
    await this.#feed.count();
    return news;
  }

  #died(): void {
    this.#feed = null;
    if (!this.#stopping) this.#again('The OPC UA server of the fleet ended; it is started again.');
  }

  /** As often as it takes, at growing distances: its port may be held for a while. The same trouble is logged once. */
  #again(trouble: string): void {
    if (trouble !== this.#trouble) this.#parts.log(trouble);
    this.#trouble = trouble;
    clearTimeout(this.#retry);
    this.#retry = setTimeout(() => void this.#try(), this.#pauseMs);
    this.#pauseMs = Math.min(LAST_PAUSE_MS, 2 * this.#pauseMs);
  }
}

const refusal = ({ host, port }: ServeSetting, why: string): string =>
  `The OPC UA server of the fleet cannot listen on ${host}:${port} (${why.slice(0, 120)}). ` +
  'Choose another port under serve in the site file, or stop what uses it; it is tried again until it stands.';

/** What a process that is gone was to be told is of no more use. */
function send(child: ChildProcess, order: ServeOrder, done: () => void = () => undefined): void {
  if (child.connected) child.send(order, done);
}

function first(child: ChildProcess): Promise<ServeNews> {
  return new Promise((resolve) => {
    const give = (news: ServeNews): void => {
      clearTimeout(late);
      resolve(news);
    };
    const late = setTimeout(() => give({ type: 'failed', message: 'no answer from its process' }), START_MS);
    child.once('message', (news) => give(news as ServeNews));
    child.once('error', ({ message }) => give({ type: 'failed', message }));
    child.once('exit', (code) => give({ type: 'failed', message: `exit code ${code}` }));
  });
}
