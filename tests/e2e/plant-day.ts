/**
 * The demo plant on a working morning at 60 times its pace, with a week behind it and somewhere to send alerts to: what a day with the
 * program looks like to the people who use it. Times of the tests are plant time unless they say real.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, type AddressInfo } from 'node:net';
import { once } from 'node:events';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Fleet, StateInterval } from '../../src/contract.ts';
import { EQUIPMENT_STATES } from '../../src/equipment.ts';
import { sendOrder } from '../../gateway/simulator/control.ts';
import type { FaultName, TruthLine } from '../../gateway/simulator/plant-port.ts';
import { startProgram, type Program } from './program.ts';
import { startMailServer, startWebhookReceiver, type MailServer, type WebhookReceiver } from './receivers.ts';

/** A Wednesday, 10:30 in the hall's zone: the early shift works, the week before has a holiday in it. */
const MORNING = Date.UTC(2026, 10, 18, 9, 30);
const ROOT = join(import.meta.dirname, '../..');
export const SPEED = 60;

export type PlantDay = {
  /** Another one after `restart`. */
  program: Program;
  readonly webhook: WebhookReceiver;
  readonly mail: MailServer;
  readonly folder: string;
  get<T>(path: string): Promise<T>;
  readonly fleet: () => Promise<Fleet>;
  /** A fault for so many plant minutes. */
  order(fault: FaultName, chamber: string | null, more?: { size?: number; minutes?: number }): Promise<void>;
  /** As after a power cut, on the same port and in the same folder. */
  restart(): Promise<void>;
  truth(): TruthLine[];
  end(): Promise<void>;
};

export async function startPlantDay(): Promise<PlantDay> {
  const [webhook, mail] = await Promise.all([startWebhookReceiver(), startMailServer()]);
  const folder = mkdtempSync(join(tmpdir(), 'glowfleet day '));
  const truthFile = join(folder, 'truth.jsonl');
  const site = siteWithRoutes(folder, webhook.url, mail.url);
  const options = {
    data: join(folder, 'data'),
    speed: SPEED,
    weeks: 1,
    port: await unusedPort(),
    more: ['--site', site, '--truth', truthFile],
    env: wednesday(),
  };
  const day: PlantDay = {
    program: await startProgram(options),
    webhook,
    mail,
    folder,
    get: async <T>(path: string): Promise<T> => {
      const response = await fetch(`${day.program.url}${path}`);
      if (!response.ok) throw new Error(`${path}: ${response.status} ${await response.text()}`);
      return (await response.json()) as T;
    },
    fleet: () => day.get<Fleet>('/api/fleet'),
    order: async (fault, chamber, { size, minutes } = {}) => {
      const wish = { fault, chamber, size: size ?? null, durationMs: minutes === undefined ? null : minutes * 60_000 };
      const wrong = await sendOrder(day.program.control, wish);
      if (wrong !== null) throw new Error(wrong);
    },
    restart: async () => {
      day.program = await startProgram(options);
    },
    truth: () =>
      readFileSync(truthFile, 'utf8')
        .split('\n')
        .filter(Boolean)
        .map((text) => JSON.parse(text) as TruthLine),
    end: async () => {
      await Promise.all([day.program.stop(), webhook.close(), mail.close()]);
      rmSync(folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
    },
  };
  return day;
}

/** The environment in which every process reads the clock as on that morning. */
function wednesday(): Record<string, string> {
  const preload = pathToFileURL(join(import.meta.dirname, 'on-a-wednesday.mjs')).href;
  return { NODE_OPTIONS: `--import=${preload}`, GLOWFLEET_TEST_SHIFT_MS: String(MORNING - Date.now()) };
}

function siteWithRoutes(folder: string, webhook: string, mail: string): string {
  const file = join(folder, 'site.yaml');
  const routes = `alerts:
  routes:
    - { name: engineer on duty, type: webhook, url: '${webhook}', allowPrivate: true }
    - { name: process engineering, type: mail, smtp: '${mail}', from: glowfleet@example.com, to: [engineer@example.com] }
`;
  writeFileSync(file, readFileSync(join(ROOT, 'gateway/simulator/quellmoor.yaml'), 'utf8').replace(/^alerts:\n/m, routes));
  return file;
}

async function unusedPort(): Promise<number> {
  const server = createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  server.close();
  await once(server, 'close');
  return port;
}

/** Asks until the answer is not null, in real time. */
export async function soon<T>(what: string, withinMs: number, ask: () => Promise<T | null>): Promise<T> {
  for (const end = performance.now() + withinMs; performance.now() < end; await new Promise((done) => setTimeout(done, 150))) {
    const answer = await ask();
    if (answer !== null) return answer;
  }
  throw new Error(`${what}: not within ${withinMs / 1000} s`);
}

/** What is wrong with intervals that should cover [from, to) of one chamber without hole or overlap. Empty is good. */
export function partitionFaults(intervals: readonly StateInterval[], from: number, to: number): string[] {
  const faults: string[] = [];
  const sorted = [...intervals].sort((a, b) => a.from - b.from);
  let at = from;
  for (const span of sorted) {
    if (span.from !== at) faults.push(`${span.chamber}: ${span.from < at ? 'overlap' : 'hole'} of ${Math.abs(span.from - at)} ms at ${at}`);
    if (span.to <= span.from) faults.push(`${span.chamber}: empty interval at ${span.from}`);
    at = span.to;
  }
  if (at !== to) faults.push(`ends ${to - at} ms early`);
  const byState = EQUIPMENT_STATES.map((state) => sorted.filter((s) => s.state === state).reduce((sum, s) => sum + s.to - s.from, 0));
  const sum = byState.reduce((a, b) => a + b, 0);
  if (sum !== to - from) faults.push(`the states sum to ${sum} of ${to - from} ms`);
  return faults;
}
