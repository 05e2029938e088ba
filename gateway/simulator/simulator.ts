/**
 * The running simulator: one plant, its servers, its memory and its judge's record on disk, and an ear for fault orders. Stopped and started
 * again it continues the same story; the time between is lived through without telling any tag.
 */
import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { setImmediate as nextTurn, setTimeout as wait } from 'node:timers/promises';
import { acceleratedClock, type Clock } from '../clock.ts';
import type { ServeCommand } from './command-line.ts';
import { ControlPort } from './control.ts';
import type { Listener } from './last-stretch.ts';
import type { Plant, TruthLine } from './plant-port.ts';
import { type ProcessImage, processImage } from './process-image.ts';
import { SimulatedServers } from './server.ts';
import { savedPlant, savePlant } from './snapshot-file.ts';
import { TruthFile } from './truth-file.ts';

const SAVE_MS = 60_000;
const LONGEST_CLOSE_MS = 1200;
const CATCH_UP_MS = 600_000;

export type PastSpan = { readonly now: () => number; readonly image: ProcessImage; readonly stop: AbortSignal };

export type PlantMaker<P extends Plant> = {
  /** A new story that begins at `at`. */
  create(at: number, truth: (line: TruthLine) => void): P;
  /** The plant as it was; it tells every tag with its next step. */
  restore(snapshot: unknown, truth: (line: TruthLine) => void): P;
  /** Runs the plant through the past up to now, giving its tags to whoever asked, and keeps the image. Who asked hears what comes next too. */
  past(plant: P, span: PastSpan): Promise<Listener | null>;
  /** Long steps where nothing happens, or every second as usual. */
  hurry(plant: P, inHurry: boolean): void;
};

export type Ready = { readonly endpoints: Readonly<Record<string, string>>; readonly control: string };

export type SimulatorOptions<P extends Plant> = {
  readonly command: ServeCommand;
  readonly maker: PlantMaker<P>;
  readonly onError: (error: unknown) => void;
};

export class Simulator<P extends Plant> {
  readonly #options: SimulatorOptions<P>;
  readonly #clock: Clock;
  readonly #stop = new AbortController();
  /** Set once it is worth saving. */
  #plant: P | null = null;
  #truth: TruthFile | null = null;
  #servers: SimulatedServers | null = null;
  #control: ControlPort | null = null;
  #timer: NodeJS.Timeout | null = null;

  constructor(options: SimulatorOptions<P>) {
    this.#options = options;
    this.#clock = acceleratedClock(options.command.epochMs ?? Date.now(), options.command.speed);
  }

  /** Rejects when a port is taken, a folder cannot be written or a snapshot not used; nothing is left open then. */
  async start(): Promise<Ready> {
    try {
      return await this.#open();
    } catch (error) {
      await this.stop();
      throw error;
    }
  }

  async stop(): Promise<void> {
    this.#stop.abort();
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
    await Promise.all([this.#save(), this.#truth?.stop()]);
    // Everything that must last is on disk; clients that do not hang up are not waited for.
    await Promise.race([Promise.all([this.#control?.stop(), this.#servers?.stop()]), wait(LONGEST_CLOSE_MS, undefined, { ref: false })]);
    this.#control = this.#servers = this.#truth = null;
    this.#plant = null;
  }

  async #open(): Promise<Ready> {
    const { command, maker, onError } = this.#options;
    await mkdir(command.data, { recursive: true });
    if (command.truth !== null) this.#truth = new TruthFile(command.truth, onError);
    this.#truth?.start();
    const truth = this.#truth?.write ?? ((): void => {});
    const memory = await savedPlant(this.#file(), command);
    const plant = memory === null ? maker.create(command.historyFrom ?? this.#clock.now(), truth) : maker.restore(memory.plant, truth);
    const image = processImage(plant.chambers);
    this.#control = new ControlPort(plant);
    const control = await this.#control.start(command.controlPort);
    const { basePort, data: folder } = command;
    this.#servers = new SimulatedServers({ plant, clock: this.#clock, image, basePort, folder, onError });
    const endpoints = await this.#servers.listen();
    // Only now, with every port taken, the long part.
    const span = { now: () => this.#clock.now(), image, stop: this.#stop.signal };
    const listener = memory === null && command.historyFrom !== null ? await maker.past(plant, span) : null;
    if (listener === null) await this.#catchUp(plant, image);
    this.#run(plant, listener);
    return { endpoints, control: `127.0.0.1:${control}` };
  }

  #run(plant: P, listener: Listener | null): void {
    this.#stop.signal.throwIfAborted();
    this.#plant = plant;
    this.#servers?.run(listener);
    this.#control?.open();
    this.#timer = setInterval(() => void this.#save(), SAVE_MS);
    void this.#save(); // a past once told is not told again
  }

  /** In slices, so that a signal is heard meanwhile. */
  async #catchUp(plant: P, image: ProcessImage): Promise<void> {
    const behindMs = this.#clock.now() - plant.now;
    if (behindMs < -CATCH_UP_MS) this.#options.onError(aheadFault(-behindMs, this.#file()));
    this.#options.maker.hurry(plant, behindMs > CATCH_UP_MS);
    while (plant.now < this.#clock.now() - 1000 && !this.#stop.signal.aborted) {
      plant.advance(Math.min(this.#clock.now(), plant.now + CATCH_UP_MS), image);
      await nextTurn();
    }
    this.#options.maker.hurry(plant, false);
  }

  async #save(): Promise<void> {
    const { command, onError } = this.#options;
    if (this.#plant === null) return;
    const memory = { seed: command.seed, chambers: command.chambers, plant: this.#plant.snapshot() };
    await savePlant(this.#file(), memory).catch(onError);
  }

  #file(): string {
    return this.#options.command.plantSnapshot ?? join(this.#options.command.data, 'plant.json');
  }
}

/** A story that ran faster than life, and is now to go on at another speed. */
function aheadFault(aheadMs: number, file: string): Error {
  const hours = (aheadMs / 3_600_000).toFixed(1);
  return new Error(
    `The plant in ${file} is ${hours} h ahead of plant time and stands still until then: delete the file to begin a new story.`,
  );
}
