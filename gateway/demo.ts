/**
 * The demo: starts the simulated plant as a process of its own, lets it tell its past on the first start, and says where its servers are.
 * Plant time equals real time at speed 1. A faster plant runs ahead of it, and on the next start goes on from where it stood.
 */
import { fork, type ChildProcess } from 'node:child_process';
import { rmSync } from 'node:fs';
import { join } from 'node:path';
import type { Batch } from '../src/batch.ts';
import { weekOf, weekPlus, weekWindow } from '../src/calendar.ts';
import type { SiteFile } from '../src/config.ts';
import { Fault } from '../src/fault.ts';
import { KEPT } from '../src/kept-name.ts';
import { acceleratedClock, systemClock, type Clock } from './clock.ts';
import type { SiteCore } from './core.ts';
import { HistoryIntake } from './history-intake.ts';
import type { Store } from './store/store.ts';
import type { TraceRecorder } from './trace-recorder.ts';

const PLANT = join(import.meta.dirname, 'simulator', 'main.ts');
const MARK = KEPT.demo;
const TRACES_MS = 2 * 3_600_000;
const WEEK_MS = 7 * 86_400_000;
const COUNT = ['no', 'one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine', 'ten', 'eleven', 'twelve'];
const STOP_MS = 2_000;
const AHEAD_MS = 60_000;

export type DemoOptions = {
  readonly site: SiteFile;
  readonly store: Store;
  readonly core: SiteCore;
  readonly recorder: TraceRecorder;
  readonly folder: string;
  readonly seed: number;
  readonly speed: number;
  readonly weeks: number;
  /** Of the first simulated server, the others follow; fault orders go to the one before. 0: any free ones. */
  readonly basePort: number;
  /** Where the plant writes down what really happened; nowhere when undefined. */
  readonly truth: string | undefined;
  /** One line, written over as the past grows. */
  readonly onProgress: (line: string) => void;
  /** The plant's process ended although nobody asked it to, or what it told could not be taken. */
  readonly onEnd: (fault: Fault) => void;
  /** Another program in the place of the simulated plant. */
  readonly program?: string;
};

export type Demo = {
  readonly clock: Clock;
  /** The past is still being told; null when it was told in an earlier start. */
  readonly past: Past | null;
  /** Server name to address. */
  readonly endpoints: ReadonlyMap<string, string>;
  /** Where fault orders go. */
  readonly control: string;
  stop(): Promise<void>;
};

/** A past that goes on while the servers already answer, so that it can go over into the present without a hole. */
export type Past = {
  /** Has it told up to `at` at least; resolves when all of it is in the books. */
  end(at: number): Promise<void>;
};

/** What the data folder remembers of the demo's past. */
type Mark = { readonly from: number; readonly seed: number; readonly done: boolean };

export async function startDemo(options: DemoOptions): Promise<Demo> {
  const stored = await options.store.snapshots();
  const mark = JSON.parse(stored.get(MARK) ?? 'null') as Mark | null;
  const epoch = epochOf(options.speed, Date.now(), lastPlantTime(stored));
  const clock = options.speed === 1 ? systemClock() : acceleratedClock(epoch, options.speed);
  const past = mark?.done === true || options.weeks === 0 ? null : (mark ?? (await newMark(options)));
  // A plant that was saved before its past was in the books would not tell it again.
  if (past !== null) rmSync(join(options.folder, 'plant', 'plant.json'), { force: true });
  const plant = new PlantProcess(options, argumentsOf(options, epoch, past));
  const ready = await plant.start(past === null ? null : historyTaker(options, past, clock.now()));
  return {
    clock,
    past: past === null ? null : { end: (at) => plant.endPast(at) },
    endpoints: new Map(Object.entries(ready.endpoints)),
    control: ready.control,
    stop: () => plant.stop(),
  };
}

function argumentsOf(options: DemoOptions, epoch: number, past: Mark | null): string[] {
  const { folder, seed, speed, basePort, truth } = options;
  const always = {
    data: join(folder, 'plant'),
    seed: past?.seed ?? seed,
    speed,
    'base-port': basePort,
    epoch,
    ...(truth === undefined ? {} : { truth }),
  };
  const named = Object.entries(past === null ? always : { ...always, 'history-from': past.from });
  return ['serve', ...named.flatMap(([name, value]) => [`--${name}`, String(value)])];
}

/** The past begins on a Monday, so that its weeks are whole. */
async function newMark({ site, store, seed, weeks }: DemoOptions): Promise<Mark> {
  const week = weekPlus(weekOf(Date.now(), site.site.zone), -weeks);
  const from = week === null ? null : weekWindow(week, site.site.zone);
  if (from === null) throw new Fault('invalid', `${weeks} weeks of history reach too far back. Choose fewer with --weeks.`);
  const mark = { from: from.from, seed, done: false };
  await store.append({ events: [], snapshots: new Map([[MARK, JSON.stringify(mark)]]) });
  return mark;
}

/** The real moment at which plant time and real time were the same, chosen so that plant time never runs back. */
export function epochOf(speed: number, nowMs: number, lastPlantMs: number): number {
  if (speed === 1) {
    if (lastPlantMs <= nowMs + AHEAD_MS) return nowMs;
    const hours = ((lastPlantMs - nowMs) / 3_600_000).toFixed(1);
    throw new Fault(
      'conflict',
      `The plant of this data folder ran faster before and is ${hours} h ahead. Choose --speed above 1, or another folder with --data.`,
    );
  }
  const plantMs = Math.max(nowMs, lastPlantMs + 1000);
  return Math.floor((nowMs * speed - plantMs) / (speed - 1));
}

function lastPlantTime(stored: ReadonlyMap<string, string>): number {
  const times = [...stored].filter(([name]) => name !== MARK).map(([, text]) => Number((JSON.parse(text) as { now?: number }).now ?? 0));
  return Math.max(0, ...times);
}

type History = { readonly type: 'history'; readonly batch: Batch } | { readonly type: 'history-end'; readonly at: number };

function historyTaker(
  { site, core, store, recorder, weeks, onProgress }: DemoOptions,
  past: Mark,
  now: number,
): (news: History) => Promise<void> {
  const intake = new HistoryIntake({ site, core, store, recorder, from: past.from, tracesFrom: now - TRACES_MS });
  return async (news) => {
    if (news.type === 'history-end') return intake.end(news.at, new Map([[MARK, JSON.stringify({ ...past, done: true })]]));
    await intake.take(news.batch);
    const week = Math.min(weeks, 1 + Math.floor((intake.progress.at - past.from) / WEEK_MS));
    onProgress(`building ${weeks === 1 ? 'a week' : `${COUNT[weeks] ?? weeks} weeks`} of demo history: week ${week} of ${weeks}`);
  };
}

type Ready = { readonly type: 'ready'; readonly endpoints: Readonly<Record<string, string>>; readonly control: string };

class PlantProcess {
  readonly #options: DemoOptions;
  readonly #args: readonly string[];
  #child: ChildProcess | null = null;
  #words = '';
  #stopping = false;
  /** News are worked off one after another. */
  #work: Promise<void> = Promise.resolve();
  readonly #pastEnded = Promise.withResolvers<void>();

  constructor(options: DemoOptions, args: readonly string[]) {
    this.#options = options;
    this.#args = args;
  }

  /** Resolves once the plant's servers answer and its past, if wanted, is in the books up to about now. */
  start(onHistory: ((news: History) => Promise<void>) | null): Promise<Ready> {
    const child = fork(this.#options.program ?? PLANT, this.#args, {
      execArgv: [],
      serialization: 'advanced',
      stdio: ['ignore', 'ignore', 'pipe', 'ipc'],
    });
    this.#child = child;
    child.stderr?.setEncoding('utf8').on('data', (text: string) => (this.#words = (this.#words + text).slice(-2000)));
    return new Promise((resolve, reject) => {
      child.on('message', (news: History | Ready) => {
        this.#work = this.#work.then(() => this.#hear(news, onHistory, resolve)).catch((error: unknown) => reject(this.#fail(error)));
      });
      child.once('exit', () => {
        const fault = new Fault(
          'unavailable',
          `The simulated plant could not go on. ${this.#words.trim().split('\n').at(-1) ?? ''}`.trim(),
        );
        reject(fault);
        if (!this.#stopping) this.#options.onEnd(fault);
      });
    });
  }

  endPast(at: number): Promise<void> {
    this.#send({ type: 'until', at });
    return this.#pastEnded.promise;
  }

  async stop(): Promise<void> {
    this.#stopping = true;
    const child = this.#child;
    if (child === null || child.exitCode !== null || child.signalCode !== null) return;
    const gone = new Promise<void>((resolve) => child.once('exit', () => resolve()));
    child.kill('SIGTERM');
    const hard = setTimeout(() => child.kill('SIGKILL'), STOP_MS);
    await gone;
    clearTimeout(hard);
  }

  /** A past with a hole would be told as if it were whole. */
  #fail(error: unknown): Fault {
    const fault =
      error instanceof Fault ? error : new Fault('internal', `The past of the plant could not be taken: ${String(error)}`, error);
    if (this.#stopping) return fault;
    this.#pastEnded.reject(fault);
    this.#pastEnded.promise.catch(() => undefined);
    this.#options.onEnd(fault);
    return fault;
  }

  #send(message: object): void {
    if (this.#child?.connected === true) this.#child.send(message);
  }

  async #hear(news: History | Ready, onHistory: ((news: History) => Promise<void>) | null, ready: (news: Ready) => void): Promise<void> {
    if (news.type === 'ready') return ready(news);
    await onHistory?.(news);
    if (news.type === 'history-end') this.#pastEnded.resolve();
    else this.#send({ type: 'more' });
  }
}
