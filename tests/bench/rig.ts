/** One fleet on the bench: server, gateway and bare subscriber as processes of their own, started together, stopped together. */
import { fork, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import type { ServerLine } from '../../src/contract.ts';
import { startProgram, type Program } from '../e2e/program.ts';
import { benchSite, loadWords, siteText, type Load } from './bench-site.ts';
import type { ServerReady, WriteOrder, Written } from './bench-server.ts';
import { costOf } from './process-tree.ts';
import type { Arrival, RawCount, RawNews } from './raw-subscriber.ts';

/** One side: CPU-s per 100 000 values, values a second, cores kept busy, resident memory at the end. */
export type Side = { readonly per100k: number; readonly valuesPerS: number; readonly cores: number; readonly rssBytes: number };
export type Cost = { readonly gateway: Side; readonly raw: Side };

type Reading = { readonly values: number; readonly cpuS: number; readonly rssBytes: number; readonly ms: number };
const POLL_MS = 100;

export class Rig {
  readonly load: Load;
  readonly arrivals: Arrival[] = [];
  readonly writes: Written[] = [];
  /** Epoch ms when the gateway's process was started. */
  spawnedAt = 0;
  readonly #folder = mkdtempSync(join(tmpdir(), 'glowfleet-bench-'));
  readonly #site = join(this.#folder, 'site.yaml');
  #server: ChildProcess | null = null;
  #raw: ChildProcess | null = null;
  #gateway: Program | null = null;

  constructor(load: Load) {
    this.load = load;
  }

  get url(): string {
    return this.#gateway?.url ?? '';
  }

  /** The plant runs; nobody listens yet. */
  async startServer(): Promise<void> {
    this.#server = fork(join(import.meta.dirname, 'bench-server.ts'), [...loadWords(this.load)], {
      stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
    });
    const { port } = (await this.#news(this.#server)) as ServerReady;
    this.#server.on('message', (written: Written) => this.writes.push(written));
    writeFileSync(this.#site, siteText(benchSite(this.load, `opc.tcp://127.0.0.1:${port}`)));
    this.#raw = fork(join(import.meta.dirname, 'raw-subscriber.ts'), [...loadWords(this.load), `${port}`], {
      stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
    });
    await this.#news(this.#raw);
    this.#raw.on('message', (news: RawNews) => typeof news === 'object' && 'path' in news && this.arrivals.push(news));
  }

  async startGateway(env: Readonly<Record<string, string>> = {}): Promise<void> {
    this.spawnedAt = Date.now();
    this.#gateway = await startProgram({ args: ['run', '--site', this.#site], data: join(this.#folder, 'data'), env });
  }

  /** Both sides over the same `seconds` on the same server. */
  async cost(seconds: number): Promise<Cost> {
    const before = [await this.#gatewayReading(), await this.#rawReading()] as const;
    await wait(seconds * 1000);
    const after = [await this.#gatewayReading(), await this.#rawReading()] as const;
    return { gateway: side(before[0], after[0]), raw: side(before[1], after[1]) };
  }

  write(order: WriteOrder): void {
    this.#server?.send(order);
  }

  /** From now on the bare subscriber tells when these tags arrive. */
  note(paths: readonly string[]): void {
    this.#raw?.send(paths);
  }

  async stop(): Promise<void> {
    await this.#gateway?.stop();
    for (const child of [this.#raw, this.#server]) if (child) await ended(child);
    rmSync(this.#folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
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
    const raw = this.#raw as ChildProcess;
    raw.send('count');
    for (;;) {
      const [news] = (await once(raw, 'message')) as [RawNews];
      if (typeof news === 'object' && 'cpuS' in news) return { ...(news satisfies RawCount), ms: performance.now() };
    }
  }
}

function side(before: Reading, after: Reading): Side {
  const [values, cpuS, s] = [after.values - before.values, after.cpuS - before.cpuS, (after.ms - before.ms) / 1000];
  return { per100k: (cpuS / values) * 1e5, valuesPerS: values / s, cores: cpuS / s, rssBytes: after.rssBytes };
}

async function ended(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = once(child, 'exit');
  if (child.connected) child.disconnect();
  const hard = setTimeout(() => child.kill('SIGKILL'), 3000);
  await gone;
  clearTimeout(hard);
}
