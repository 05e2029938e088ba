/** One fleet on the bench: its servers, the gateway and the bare subscriber as processes of their own; `stop` ends what was started. */
import { fork, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { pathToFileURL } from 'node:url';
import type { ServerLine } from '../../src/contract.ts';
import { startProgram, type Program } from '../e2e/program.ts';
import { benchSite, loadWords, partsOf, siteText, type Load } from './bench-site.ts';
import type { ServerReady, WriteOrder, Written } from './bench-server.ts';
import { costOf, tree } from './process-tree.ts';
import type { Arrival, RawCount, RawKept, RawNews, RawOrder } from './raw-subscriber.ts';

/** One side: CPU-s per 100 000 values, values a second, cores kept busy, resident memory at the end. */
export type Side = { readonly per100k: number; readonly valuesPerS: number; readonly cores: number; readonly rssBytes: number };
export type Cost = { readonly gateway: Side; readonly raw: Side };

type Reading = { readonly values: number; readonly cpuS: number; readonly rssBytes: number; readonly ms: number };
const POLL_MS = 100;
/** The files that kept-memory.mjs writes. */
const KEPT_PARTS = ['gateway', 'link'];
/** For a session with every server. */
const CLOSE_MS = 30_000;

export class Rig {
  readonly load: Load;
  readonly arrivals: Arrival[] = [];
  readonly writes: Written[] = [];
  /** Epoch ms when the gateway's process was started. */
  spawnedAt = 0;
  readonly #folder = mkdtempSync(join(tmpdir(), 'glowfleet-bench-'));
  readonly #site = join(this.#folder, 'site.yaml');
  #servers: ChildProcess[] = [];
  #ports: number[] = [];
  #raw: ChildProcess | null = null;
  #gateway: Program | null = null;

  constructor(load: Load) {
    this.load = load;
  }

  get url(): string {
    return this.#gateway?.url ?? '';
  }

  /** The plant runs; nobody listens yet. */
  async startServers(): Promise<void> {
    for (const part of partsOf(this.load).keys()) {
      const server = this.#forked('bench-server.ts', [`${part}`]);
      this.#servers.push(server);
      const { port } = (await this.#news(server)) as ServerReady;
      server.on('message', (written: Written) => this.writes.push(written));
      this.#ports.push(port);
    }
    writeFileSync(this.#site, siteText(benchSite(this.load, this.#ports)));
  }

  /** The bare subscriber, until every value is monitored. */
  async startRaw(): Promise<void> {
    this.#raw = this.#forked('raw-subscriber.ts', this.#ports.map(String));
    await this.#news(this.#raw);
    this.#raw.on('message', (news: RawNews) => typeof news === 'object' && 'path' in news && this.arrivals.push(news));
  }

  async startGateway(env: Readonly<Record<string, string>> = {}): Promise<void> {
    this.spawnedAt = Date.now();
    const memory = {
      NODE_OPTIONS: `--import=${pathToFileURL(join(import.meta.dirname, 'kept-memory.mjs')).href}`,
      GLOWFLEET_BENCH_MEMORY: this.#folder,
      GLOWFLEET_BENCH_MEMORY_WHEN: 'asked',
    };
    const data = join(this.#folder, 'data');
    this.#gateway = await startProgram({ args: ['run', '--site', this.#site], data, env: { ...memory, ...env } });
  }

  /** Both sides over the same `seconds` on the same server. */
  async cost(seconds: number): Promise<Cost> {
    const [gateway, raw] = await Promise.all([this.gatewayCost(seconds), this.rawCost(seconds)]);
    return { gateway, raw };
  }

  gatewayCost = (seconds: number): Promise<Side> => over(seconds, () => this.#gatewayReading());
  rawCost = (seconds: number): Promise<Side> => over(seconds, () => this.#rawReading());

  /** Of gateway and link together, after garbage was collected. */
  async gatewayKeptBytes(): Promise<number> {
    const asked = Date.now();
    for (const pid of tree(this.#pid)) process.kill(pid, 'SIGUSR2');
    const fresh = (part: string): number => {
      const file = join(this.#folder, part);
      const [at = 0, bytes = 0] = existsSync(file)
        ? (readFileSync(file, 'utf8').trim().split('\n').at(-1) ?? '').split(' ').map(Number)
        : [];
      return at >= asked ? bytes : 0;
    };
    for (;;) {
      const bytes = KEPT_PARTS.map(fresh);
      if (bytes.every((each) => each > 0)) return bytes.reduce((sum, each) => sum + each, 0);
      await wait(POLL_MS);
    }
  }

  async rawKeptBytes(): Promise<number> {
    return (await this.#askRaw('kept', (news): news is RawKept => typeof news === 'object' && 'keptBytes' in news)).keptBytes;
  }

  write(order: WriteOrder): void {
    for (const server of this.#servers) server.send(order);
  }

  /** From now on the bare subscriber tells when these tags arrive. */
  note(paths: readonly string[]): void {
    this.#raw?.send(paths);
  }

  async stop(): Promise<void> {
    await this.#gateway?.stop();
    await this.stopRaw();
    await Promise.all(this.#servers.map(ended));
    rmSync(this.#folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
  }

  async stopRaw(): Promise<void> {
    if (this.#raw !== null) await ended(this.#raw, CLOSE_MS);
    this.#raw = null;
  }

  #forked(file: string, words: readonly string[]): ChildProcess {
    return fork(join(import.meta.dirname, file), [...loadWords(this.load), ...words], { stdio: ['ignore', 'ignore', 'inherit', 'ipc'] });
  }

  get #pid(): number {
    return this.#gateway?.pid ?? 0;
  }

  /** The first message; a process that ends instead is an error. */
  async #news(child: ChildProcess): Promise<unknown> {
    const died = once(child, 'exit').then(([code]) => Promise.reject(new Error(`a process of the bench ended with ${String(code)}`)));
    const [news] = (await Promise.race([once(child, 'message'), died])) as [unknown];
    died.catch(() => undefined);
    return news;
  }

  /** The link tells its count once a second: the reading is taken when it does. */
  async #gatewayReading(): Promise<Reading> {
    const first = await this.#gatewayValues();
    for (;;) {
      await wait(POLL_MS);
      const values = await this.#gatewayValues();
      if (values !== first) return { ...costOf(this.#pid), values, ms: performance.now() };
    }
  }

  async #gatewayValues(): Promise<number> {
    const lines = (await (await fetch(`${this.url}/api/servers`)).json()) as readonly ServerLine[];
    return lines.reduce((sum, line) => sum + line.counters.values, 0);
  }

  async #rawReading(): Promise<Reading> {
    const count = await this.#askRaw('count', (news): news is RawCount => typeof news === 'object' && 'cpuS' in news);
    return { ...count, ms: performance.now() };
  }

  async #askRaw<T extends RawNews>(order: RawOrder, isAnswer: (news: RawNews) => news is T): Promise<T> {
    const raw = this.#raw as ChildProcess;
    raw.send(order);
    for (;;) {
      const [news] = (await once(raw, 'message')) as [RawNews];
      if (isAnswer(news)) return news;
    }
  }
}

async function over(seconds: number, reading: () => Promise<Reading>): Promise<Side> {
  const before = await reading();
  await wait(seconds * 1000);
  return side(before, await reading());
}

function side(before: Reading, after: Reading): Side {
  const [values, cpuS, s] = [after.values - before.values, after.cpuS - before.cpuS, (after.ms - before.ms) / 1000];
  return { per100k: (cpuS / values) * 1e5, valuesPerS: values / s, cores: cpuS / s, rssBytes: after.rssBytes };
}

async function ended(child: ChildProcess, withinMs = 3000): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = once(child, 'exit');
  if (child.connected) child.disconnect();
  const hard = setTimeout(() => child.kill('SIGKILL'), withinMs);
  await gone;
  clearTimeout(hard);
}
