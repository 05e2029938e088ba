/**
 * Kills the gateway's memory with -9 again and again while a simulated plant goes on, and holds the books against what was told.
 * - Nothing acknowledged is lost: every fact that was told is in the store, under the same sequence.
 * - Nothing is counted twice: ids are unique, sequences have no holes, no run ends twice, no two runs of a chamber overlap, and a run that
 *   began is taken up again after the kill, never forgotten.
 * - No alert is lost and none is told twice: the facts led to exactly the alerts in the store, and each has its messages in the outbox.
 * - The file is whole (SQLite's integrity_check), and each chamber's time is a partition, exact to the millisecond.
 */
import { fork, type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import type { ChamberEvent, StoredEvent } from '../../src/event.ts';
import { fleetFacts } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';
import type { Reading } from '../../src/reading.ts';
import { demoSite, plantFeed, type Feed } from '../accuracy/plant-feed.ts';
import { burstReadings, outboxFaults, readOutbox, type Outbox } from './outbox-faults.ts';
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
};

const START = Date.UTC(2026, 9, 5, 4);
const SECONDS_PER_FEED = 60;

export async function killRun({ kills, seed, onKill }: KillOrder): Promise<KillResult> {
  const folder = mkdtempSync(join(tmpdir(), 'glowfleet-kill-'));
  const random = seededRandom(seed);
  const feed = plantFeed({ seed, from: START, site: demoSite() });
  const told = new Map<number, string>();
  const rows: KillRow[] = [];
  try {
    for (let kill = 1; kill <= kills; kill += 1) {
      const started = performance.now();
      await liveAndDie({ folder, feed, told, lifeMs: 30 + random() * 700 });
      const books = readBooks(folder);
      const row = {
        kill,
        afterMs: Math.round(performance.now() - started),
        told: told.size,
        stored: books.events.length,
        alerts: books.outbox.alerts.length,
        faults: faultsOf(books, told),
      };
      rows.push(row);
      onKill?.(row);
      // The plant goes on without us for up to five minutes.
      for (let second = Math.floor(random() * 300); second > 0; second -= 1) feed.second();
    }
    const { stored = 0, alerts = 0 } = rows.at(-1) ?? {};
    return { rows, told: told.size, stored, alerts, faults: rows.flatMap((row) => row.faults) };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

type Life = { readonly folder: string; readonly feed: Feed; readonly told: Map<number, string>; readonly lifeMs: number };

/** One life of the process: started, fed for `lifeMs`, killed in the middle of whatever it does. */
async function liveAndDie({ folder, feed, told, lifeMs }: Life): Promise<void> {
  const child = fork(join(import.meta.dirname, 'victim.ts'), [folder], {
    serialization: 'advanced',
    stdio: ['ignore', 'pipe', 'pipe', 'ipc'],
    execArgv: [],
  });
  let words = '';
  let complaint = '';
  child.stdout?.setEncoding('utf8').on('data', (text: string) => (words += text));
  child.stderr?.setEncoding('utf8').on('data', (text: string) => (complaint += text));
  feed.plant.retell();
  let dies: NodeJS.Timeout | null = null;
  child.on('message', () => {
    dies ??= setTimeout(() => child.kill('SIGKILL'), lifeMs);
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

type Books = {
  readonly integrity: string;
  readonly events: readonly (StoredEvent & { readonly id: string })[];
  readonly heard: Readonly<Record<string, number>>;
  readonly outbox: Outbox;
};

function readBooks(folder: string): Books {
  const db = new DatabaseSync(join(folder, 'glowfleet.sqlite'), { readOnly: true });
  try {
    const integrity = String(Object.values(db.prepare('pragma integrity_check').get() ?? {})[0]);
    const rows = db.prepare('select seq, id, body from event order by seq').all();
    const events = rows.map((row) => ({
      ...(JSON.parse(String(row['body'])) as ChamberEvent),
      seq: Number(row['seq']),
      id: String(row['id']),
    }));
    const states = db.prepare("select name, json_extract(body, '$.now') as now from snapshot where name like 'PC-%'").all();
    return {
      integrity,
      events,
      outbox: readOutbox(db),
      heard: Object.fromEntries(states.map((row) => [String(row['name']), Number(row['now'])])),
    };
  } finally {
    db.close();
  }
}

function faultsOf(books: Books, told: ReadonlyMap<number, string>): string[] {
  const { integrity, events } = books;
  const bySeq = new Map(events.map((event) => [event.seq, event.id]));
  const lost = [...told].filter(([seq, id]) => bySeq.get(seq) !== id);
  return [
    ...(integrity === 'ok' ? [] : [`integrity_check: ${integrity}`]),
    ...lost.map(([seq, id]) => `told but not stored: ${seq} ${id}`),
    ...(new Set(events.map((event) => event.id)).size === events.length ? [] : ['an id is there twice']),
    ...(events.every((event, i) => event.seq === i + 1) ? [] : ['sequences have holes']),
    ...runFaults(events),
    ...outboxFaults(books.outbox, events),
    ...partitionFaults(books),
  ];
}

function runFaults(events: readonly StoredEvent[]): string[] {
  const runs = events.filter((event) => event.kind === 'run-ended');
  const twice = runs
    .filter((run, i) => runs.findIndex((other) => other.run === run.run) !== i)
    .map((run) => `run counted twice: ${run.run}`);
  const byChamber = Map.groupBy(runs, (run) => run.chamber);
  const overlaps = [...byChamber.values()].flatMap((list) => {
    const sorted = list.toSorted((a, b) => a.startedAt - b.startedAt);
    return sorted.filter((run, i) => i > 0 && run.startedAt < (sorted[i - 1]?.at ?? 0)).map((run) => `runs overlap: ${run.run}`);
  });
  const ended = new Set(runs.map((run) => run.run));
  const lastStart = new Map(events.flatMap((event) => (event.kind === 'run-started' ? [[event.chamber, event.run] as const] : [])));
  const started = events.filter((event) => event.kind === 'run-started');
  const forgotten = started
    .filter(({ chamber, run }) => !ended.has(run) && lastStart.get(chamber) !== run)
    .map(({ run }) => `run begun and forgotten: ${run}`);
  return [...twice, ...overlaps, ...forgotten];
}

/** Every ms from the start to an hour after the last word belongs to exactly one state. */
function partitionFaults({ events, heard }: Books): string[] {
  const chambers = demoSite().chambers.map((chamber) => chamber.id);
  const window = { from: START, to: Math.max(START, ...Object.values(heard)) + 3_600_000 };
  return fleetFacts({ chambers, events, heardUntil: heard }).flatMap((facts) => {
    const intervals = stateIntervals(facts, window, []);
    const gaps = intervals.filter((interval, i) => interval.from !== (intervals[i - 1]?.to ?? window.from) || interval.to <= interval.from);
    const sum = intervals.reduce((total, interval) => total + interval.to - interval.from, 0);
    return sum === window.to - window.from && gaps.length === 0
      ? []
      : [`time of ${facts.chamber} is no partition: ${sum} of ${window.to - window.from} ms`];
  });
}

/** mulberry32: small, seeded, good enough to pick moments. */
function seededRandom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}
