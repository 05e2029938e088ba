/**
 * The running simulator: one plant, its servers, its memory and its judge's record on disk, and an ear for fault orders. Stopped and started
 * again it continues the same story; the time between is lived through without telling any tag.
 */
import { mkdir } from 'node:fs/promises';
import { createServer } from 'node:net';
import { join } from 'node:path';
import { setImmediate as nextTurn } from 'node:timers/promises';
import { acceleratedClock, type Clock } from '../clock.ts';
import type { ServeCommand } from './command-line.ts';
import { ControlPort } from './control.ts';
import type { Plant, PlantSink, TruthLine } from './plant-port.ts';
import { type ProcessImage, processImage } from './process-image.ts';
import { SimulatedServers } from './server.ts';
import { savedPlant, savePlant } from './snapshot-file.ts';
import { TruthFile } from './truth-file.ts';

const SAVE_MS = 60_000;
const CATCH_UP_MS = 3_600_000;

export type PastSpan = { readonly to: number; readonly image: ProcessImage; readonly stop: AbortSignal };

export type PlantMaker = {
  /** A new story that begins at `at`. */
  create(at: number, truth: (line: TruthLine) => void): Plant;
  restore(snapshot: unknown, truth: (line: TruthLine) => void): Plant;
  /** Runs the plant through the past, giving its tags to whoever asked, and keeps the image. */
  past(plant: Plant, span: PastSpan): Promise<void>;
};

export type Ready = { readonly endpoints: Readonly<Record<string, string>>; readonly control: string };

export type SimulatorOptions = { readonly command: ServeCommand; readonly maker: PlantMaker; readonly onError: (error: unknown) => void };

export class Simulator {
  readonly #options: SimulatorOptions;
  readonly #clock: Clock;
  #plant: Plant | null = null;
  #image: ProcessImage | null = null;
  #truth: TruthFile | null = null;
  #servers: SimulatedServers | null = null;
  #control: ControlPort | null = null;
  #timer: NodeJS.Timeout | null = null;
  readonly #stop = new AbortController();

  constructor(options: SimulatorOptions) {
    this.#options = options;
    this.#clock = acceleratedClock(options.command.epochMs ?? Date.now(), options.command.speed);
  }

  /** Rejects with one sentence and its cure; nothing is left open then. */
  async start(): Promise<Ready> {
    try {
      return await this.#open();
    } catch (error) {
      await this.stop();
      throw error;
    }
  }

  async stop(): Promise<void> {
    this.#stop.abort(new Error('stopped'));
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
    await this.#save();
    await Promise.all([this.#control?.stop(), this.#servers?.stop(), this.#truth?.stop()]);
    this.#control = this.#servers = this.#truth = null;
    this.#plant = null;
  }

  async #open(): Promise<Ready> {
    const { command, onError } = this.#options;
    await mkdir(command.data, { recursive: true });
    if (command.truth !== null) this.#truth = new TruthFile(command.truth, onError);
    this.#truth?.start();
    const plant = await this.#wake();
    this.#control = new ControlPort(plant);
    const control = await this.#control.start(command.controlPort);
    const image = this.#image ?? processImage(plant.chambers);
    this.#servers = new SimulatedServers({ plant, clock: this.#clock, basePort: command.basePort, folder: command.data, image, onError });
    const endpoints = await this.#servers.start();
    this.#timer = setInterval(() => void this.#save(), SAVE_MS);
    return { endpoints, control: `127.0.0.1:${control}` };
  }

  /** The plant as it was left and brought to now, or a new one, with its past when somebody wants it. */
  async #wake(): Promise<Plant> {
    const { command, maker } = this.#options;
    const truth = this.#truth?.write ?? ((): void => {});
    const memory = await savedPlant(this.#file(), command);
    const plant = memory === null ? maker.create(command.historyFrom ?? this.#clock.now(), truth) : maker.restore(memory.plant, truth);
    await this.#probePorts(plant);
    this.#image = processImage(plant.chambers, memory?.image);
    if (memory === null && command.historyFrom !== null) {
      await maker.past(plant, { to: this.#clock.now(), image: this.#image, stop: this.#stop.signal });
    }
    this.#stop.signal.throwIfAborted();
    this.#plant = plant; // from here on it is worth saving
    await this.#catchUp(plant, this.#image);
    return plant;
  }

  /** A taken port is found before the plant lives through its past, which takes a while. */
  async #probePorts(plant: Plant): Promise<void> {
    const { controlPort, basePort } = this.#options.command;
    await probePort(controlPort);
    const servers = new Set(plant.chambers.map((chamber) => chamber.server)).size;
    for (let i = 0; i < servers && basePort !== 0; i++) await probePort(basePort + i);
  }

  /** In slices, so that a signal is heard meanwhile. */
  async #catchUp(plant: Plant, image: ProcessImage): Promise<void> {
    const sink: PlantSink = { tag: image.tag, condition: image.condition, link: () => {} };
    while (plant.now < this.#clock.now() - 1000 && !this.#stop.signal.aborted) {
      plant.advance(Math.min(this.#clock.now(), plant.now + CATCH_UP_MS), sink);
      await nextTurn();
    }
  }

  async #save(): Promise<void> {
    const { command, onError } = this.#options;
    if (this.#plant === null || this.#image === null) return;
    const memory = { seed: command.seed, chambers: command.chambers, plant: this.#plant.snapshot(), image: this.#image.saved() };
    await savePlant(this.#file(), memory).catch(onError);
  }

  #file(): string {
    return this.#options.command.plantSnapshot ?? join(this.#options.command.data, 'plant.json');
  }
}

/** Rejects with the port's own error when somebody holds it. */
async function probePort(port: number): Promise<void> {
  if (port === 0) return;
  await new Promise<void>((resolve, reject) => {
    const probe = createServer();
    probe.once('error', reject);
    probe.listen(port, '127.0.0.1', () => probe.close(() => resolve()));
  });
}
