/**
 * Kills the gateway's memory with -9 again and again while a simulated plant goes on, and holds the books against what was told.
 */
import { fork, type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Reading } from '../../src/reading.ts';
import { demoSite, plantFeed, type Feed } from '../accuracy/plant-feed.ts';
import { badReceivers, type BadReceivers } from './bad-receivers.ts';
import { faultsOf, readBooks } from './book-faults.ts';
import { deliveryCount, type DeliveryCount } from './delivery-faults.ts';
import { burstReadings } from './outbox-faults.ts';
import type { Feeding } from './victim.ts';

export type KillOrder = { readonly kills: number; readonly seed: number; readonly onKill?: (row: KillRow) => void };
export type KillRow = {
  readonly kill: number;
  /** Real ms from the start of the process to its end. */
  readonly afterMs: number;
  readonly told: number;
  readonly stored: number;
  readonly alerts: number;
  readonly faults: readonly string[];
};
export type KillResult = {
  readonly rows: readonly KillRow[];
  readonly told: number;
  readonly stored: number;
  readonly alerts: number;
  readonly faults: readonly string[];
  readonly delivery: DeliveryCount;
};

const START = Date.UTC(2026, 9, 5, 4);
const SECONDS_PER_FEED = 60;
const DRAIN_STEP_MS = 20;
const DRAIN_LOOKS = 300;

export async function killRun({ kills, seed, onKill }: KillOrder): Promise<KillResult> {
  const folder = mkdtempSync(join(tmpdir(), 'glowfleet-kill-'));
  const random = seededRandom(seed);
  const feed = plantFeed({ seed, from: START, site: demoSite() });
  const told = new Map<number, string>();
  const rows: KillRow[] = [];
  const receivers = await badReceivers(seededRandom(seed + 1));
  try {
    for (let kill = 1; kill <= kills; kill += 1) {
      const started = performance.now();
      await liveAndDie({ folder, feed, told, receivers }, { feeds: 1 + Math.floor(random() * 24), thenMs: random() * 60 });
      const books = readBooks(folder);
      const row = {
        kill,
        afterMs: Math.round(performance.now() - started),
        told: told.size,
        stored: books.events.length,
        alerts: books.outbox.alerts.length,
        faults: faultsOf(books, told, START),
      };
      rows.push(row);
      onKill?.(row);
      // The plant goes on without us for up to five minutes.
      for (let second = Math.floor(random() * 300); second > 0; second -= 1) feed.second();
    }
    receivers.behave();
    const until = feed.plant.now;
    await drain({ folder, feed, told, receivers });
    const delivery = deliveryCount(readBooks(folder).outbox, receivers.heard, { until, kills });
    const { stored = 0, alerts = 0 } = rows.at(-1) ?? {};
    return { rows, told: told.size, stored, alerts, delivery, faults: [...rows.flatMap((row) => row.faults), ...delivery.faults] };
  } finally {
    await receivers.close();
    rmSync(folder, { recursive: true, force: true });
  }
}

type Life = {
  readonly folder: string;
  readonly feed: Feed;
  readonly told: Map<number, string>;
  readonly receivers: BadReceivers;
};
/** After so many minutes of the plant, and then at any moment: a busy machine only takes longer. */
type End = { readonly feeds: number; readonly thenMs: number };

function born({ folder, feed, receivers }: Life): ChildProcess {
  return fork(join(import.meta.dirname, 'victim.ts'), [folder, receivers.webhook, receivers.smtp, String(feed.plant.now)], {
    serialization: 'advanced',
    stdio: ['ignore', 'pipe', 'pipe', 'ipc'],
    execArgv: [],
  });
}

/** One life of the process: started, fed, killed in the middle of whatever it does. */
async function liveAndDie(life: Life, end: End): Promise<void> {
  const { feed, told } = life;
  const child = born(life);
  let words = '';
  let complaint = '';
  child.stdout?.setEncoding('utf8').on('data', (text: string) => (words += text));
  child.stderr?.setEncoding('utf8').on('data', (text: string) => (complaint += text));
  feed.plant.retell();
  let fed = 0;
  child.on('message', () => {
    fed += 1;
    if (fed === end.feeds) setTimeout(() => child.kill('SIGKILL'), end.thenMs);
    feedOn(child, feed);
  });
  const signal = await new Promise<string | null>((resolve) => child.once('close', (_, how) => resolve(how)));
  if (signal !== 'SIGKILL') throw new Error(`the process ended by itself: ${complaint}`);
  // A last line that was cut was not told.
  for (const line of words
    .slice(0, words.lastIndexOf('\n') + 1)
    .split('\n')
    .filter(Boolean)) {
    const cut = line.indexOf(' ');
    told.set(Number(line.slice(0, cut)), line.slice(cut + 1));
  }
}

/** A last life that nobody ends, with receivers that are well: until nothing that was due by now is still on its way. */
async function drain(life: Life): Promise<void> {
  const { folder, feed } = life;
  const until = feed.plant.now;
  const child = born(life);
  child.stdout?.resume();
  let complaint = '';
  child.stderr?.setEncoding('utf8').on('data', (text: string) => (complaint += text));
  const ended = new Promise<void>((resolve) => child.once('close', () => resolve()));
  feed.plant.retell();
  child.on('message', () => setTimeout(() => feedOn(child, feed), DRAIN_STEP_MS));
  for (let look = 0; look < DRAIN_LOOKS && isUnderWay(folder, until); look += 1) await new Promise((resolve) => setTimeout(resolve, 200));
  if (child.exitCode !== null) throw new Error(`the process ended by itself: ${complaint}`);
  child.send('end');
  await ended;
}

const isUnderWay = (folder: string, until: number): boolean =>
  readBooks(folder).outbox.deliveries.some(({ state, dueAt = 0 }) => (state === 'waiting' || state === 'gathered') && dueAt <= until);

function feedOn(child: ChildProcess, feed: Feed): void {
  if (!child.connected) return;
  const readings = Array.from({ length: SECONDS_PER_FEED }, () => [...feed.second().values()].flat()).flat();
  const alive = feed.plant.chambers.map((chamber) => aliveAt(chamber.id, feed.plant.now));
  const bursts = burstReadings(Math.floor((feed.plant.now - START) / 60_000), feed.plant.now);
  const news: Feeding = { now: feed.plant.now, readings: [...readings, ...bursts, ...alive] };
  child.send(news, () => undefined);
}

const aliveAt = (chamber: string, at: number): Reading => ({
  chamber,
  signal: 'link.alive',
  value: true,
  quality: 'good',
  at,
  timeOrigin: 'receipt',
  receivedAt: at,
});

/** mulberry32: small, seeded, good enough to pick moments. */
export function seededRandom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}
