/**
 * The gateway's own OPC UA server, from the gateway's side: its process is started, fed with what changed once a second and with the numbers of
 * the day once a minute, and started again when it dies. Nobody can write to it.
 */
import { fork, type ChildProcess } from 'node:child_process';
import { join } from 'node:path';
import type { Changes, Fleet } from '../../src/contract.ts';
import { Fault } from '../../src/fault.ts';
import type { SeenNumbers } from '../../src/numbers.ts';
import type { ServeNews, ServeOrder, ServeSetting } from './serve-port.ts';

const FEED_MS = 1_000;
const NUMBERS_MS = 60_000;
const AGAIN_MS = 5_000;
const STOP_MS = 2_000;
const START_MS = 30_000;

export type ServeParts = {
  readonly setting: ServeSetting;
  readonly pkiFolder: string;
  readonly version: string;
  readonly view: { fleet(): Fleet; since(rev: number): Changes | null };
  /** One per chamber, of the local day so far. */
  readonly numbers: () => Promise<readonly SeenNumbers[]>;
  readonly log: (message: string, error?: unknown) => void;
};

export class FleetServer {
  readonly #parts: ServeParts;
  #child: ChildProcess | null = null;
  #rev = -1;
  #timers: NodeJS.Timeout[] = [];
  #retry: NodeJS.Timeout | undefined;
  #stopping = false;

  constructor(parts: ServeParts) {
    this.#parts = parts;
  }

  /** Of its process; null when none runs. */
  get pid(): number | null {
    return this.#child?.pid ?? null;
  }

  /** Its address and the thumbprint of its certificate. Fails `unavailable` when its port is taken. */
  async start(): Promise<{ readonly endpoint: string; readonly thumbprint: string }> {
    const ready = await this.#launch();
    this.#timers = [setInterval(() => this.#feed(), FEED_MS), setInterval(() => void this.#count(), NUMBERS_MS)];
    return ready;
  }

  async stop(): Promise<void> {
    this.#stopping = true;
    for (const timer of this.#timers) clearInterval(timer);
    clearTimeout(this.#retry);
    const child = this.#child;
    if (child === null || child.exitCode !== null) return;
    const gone = new Promise<void>((resolve) => child.once('exit', () => resolve()));
    this.#send({ type: 'close' });
    const hard = setTimeout(() => child.kill('SIGKILL'), STOP_MS);
    await gone;
    clearTimeout(hard);
  }

  async #launch(): Promise<{ readonly endpoint: string; readonly thumbprint: string }> {
    const { setting, pkiFolder, version, view } = this.#parts;
    const child = fork(join(import.meta.dirname, 'serve-child.ts'), [], {
      serialization: 'advanced',
      stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
      execArgv: [],
    });
    this.#child = child;
    const { site, chambers } = view.fleet();
    const named = chambers.map(({ chamber, name, bay }) => ({ id: chamber, name, bay }));
    this.#send({ type: 'open', setting, pkiFolder, version, site, chambers: named });
    const news = await first(child);
    if (news.type === 'failed') {
      const cure = 'Choose another port under serve in the site file, or stop what uses it.';
      throw new Fault(
        'unavailable',
        `The OPC UA server of the fleet cannot listen on ${setting.host}:${setting.port} (${news.message.slice(0, 120)}). ${cure}`,
      );
    }
    child.once('exit', () => this.#died());
    this.#rev = -1;
    this.#feed();
    await this.#count();
    return news;
  }

  #died(): void {
    this.#child = null;
    if (this.#stopping) return;
    this.#parts.log('The OPC UA server of the fleet ended; it is started again.');
    this.#again();
  }

  /** As often as it takes: its port may be held for a while. */
  #again(): void {
    const launch = (): void =>
      void this.#launch().catch((error: unknown) => {
        if (this.#stopping) return;
        this.#parts.log('It could not be started again; the next try follows', error);
        this.#again();
      });
    this.#retry = setTimeout(launch, AGAIN_MS);
  }

  #feed(): void {
    const { view } = this.#parts;
    const changes = view.since(this.#rev) ?? view.fleet();
    this.#rev = changes.rev;
    if (changes.chambers.length > 0) this.#send({ type: 'tiles', tiles: changes.chambers, now: changes.now });
  }

  async #count(): Promise<void> {
    try {
      this.#send({ type: 'numbers', numbers: await this.#parts.numbers() });
    } catch (error) {
      this.#parts.log("The fleet's numbers could not be served over OPC UA", error);
    }
  }

  #send(order: ServeOrder): void {
    if (this.#child?.connected === true) this.#child.send(order);
  }
}

function first(child: ChildProcess): Promise<ServeNews> {
  return new Promise((resolve) => {
    const give = (news: ServeNews): void => {
      clearTimeout(late);
      resolve(news);
    };
    const late = setTimeout(() => give({ type: 'failed', message: 'no answer from its process' }), START_MS);
    child.once('message', (news) => give(news as ServeNews));
    child.once('exit', (code) => give({ type: 'failed', message: `exit code ${code}` }));
  });
}
