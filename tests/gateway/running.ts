/** The whole gateway in this process, on a port of its own, with a site file that can be written while it runs. */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { systemClock } from '../../gateway/clock.ts';
import { parseSite } from '../../gateway/config.ts';
import { siteCore } from '../../gateway/core.ts';
import { Gateway } from '../../gateway/gateway.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { Store } from '../../gateway/store/store.ts';
import { TraceRecorder } from '../../gateway/trace-recorder.ts';
import type { SiteReload } from '../../src/site-answer.ts';

export type Running = {
  readonly url: string;
  readonly store: Store;
  readonly log: string[];
  get<T>(path: string): Promise<T>;
  reload(): Promise<{ status: number; body: SiteReload & { message?: string } }>;
  readonly stop: () => Promise<void>;
};

export async function startGateway(folder: string, text: string, store: Store = memoryStore()): Promise<Running> {
  const file = join(folder, 'site.yaml');
  writeFileSync(file, text);
  const parse = (words: string) => parseSite(file, words);
  const site = parse(text);
  const log: string[] = [];
  const dist = join(folder, 'dist');
  mkdirSync(dist, { recursive: true });
  writeFileSync(join(dist, 'index.html'), '<!doctype html>');
  const gateway = new Gateway({
    site,
    source: { file, text, parse },
    store,
    core: siteCore(site),
    recorder: new TraceRecorder({ store }),
    clock: systemClock(),
    folder,
    address: { host: '127.0.0.1', port: 0 },
    distFolder: dist,
    version: '0',
    random: () => 0.5,
    webhookSecrets: [],
    log: (message) => void log.push(message),
    onFatal: (error) => {
      throw error;
    },
  });
  const url = await gateway.start();
  let stopped = false;
  const stop = async (): Promise<void> => {
    if (stopped) return;
    stopped = true;
    await gateway.stop();
  };
  return {
    url,
    store,
    log,
    get: async <T>(path: string) => (await (await fetch(url + path)).json()) as T,
    reload: async () => {
      const headers = { origin: url, 'x-glowfleet': '1', 'content-type': 'application/json' };
      const answer = await fetch(`${url}/api/site/reload`, { method: 'POST', headers, body: JSON.stringify({ by: 'A. Weber' }) });
      return { status: answer.status, body: (await answer.json()) as SiteReload & { message?: string } };
    },
    stop,
  };
}
