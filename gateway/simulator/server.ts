/**
 * The simulated fleet's OPC UA side: one server per name in the plant's chambers, on ports in a row, and the plant's story told into them.
 * Turns plant time on with a steady beat; knows no fault by name, only what the plant says of its links.
 */
import { OPCUACertificateManager } from 'node-opcua';
import type { Clock } from '../clock.ts';
import { Endpoint } from './endpoint.ts';
import type { Listener } from './last-stretch.ts';
import type { Plant, PlantSink } from './plant-port.ts';
import type { ProcessImage } from './process-image.ts';

/** The controllers of these servers have a memory of their own. */
const WITH_HISTORY: readonly string[] = ['amber'];
const BEAT_MS = 100;
/** After the machine slept, the plant catches up over many beats instead of one long one. */
const LONGEST_STEP_MS = 300_000;

export type SimulatedServersOptions = {
  readonly plant: Plant;
  readonly clock: Clock;
  /** Port of the first server; the others follow. 0: any free ones. */
  readonly basePort: number;
  /** Certificates are kept inside, nothing is written anywhere else. */
  readonly folder: string;
  /** What the tags said last: servers begin with it. */
  readonly image: ProcessImage;
  /** A server could not be started again. */
  readonly onError: (error: unknown) => void;
};

export class SimulatedServers {
  readonly #options: SimulatedServersOptions;
  readonly #endpoints = new Map<string, Endpoint>();
  #certificates: OPCUACertificateManager | null = null;
  #timer: NodeJS.Timeout | null = null;
  #listener: Listener | null = null;

  constructor(options: SimulatedServersOptions) {
    this.#options = options;
  }

  /** Takes the ports and builds the servers; nobody is let in yet. Server name to address. Rejects when a port is taken; then nothing is left open. */
  async listen(): Promise<Readonly<Record<string, string>>> {
    const { plant, image, basePort, folder } = this.#options;
    const certificates = new OPCUACertificateManager({ rootFolder: `${folder}/pki`, automaticallyAcceptUnknownCertificate: true });
    this.#certificates = certificates;
    await certificates.initialize();
    const names = [...new Set(plant.chambers.map((chamber) => chamber.server))];
    names.forEach((name, index) => {
      const port = basePort === 0 ? 0 : basePort + index;
      const options = { name, port, certificates, chambers: plant.chambers, image, keepsHistory: WITH_HISTORY.includes(name) };
      this.#endpoints.set(name, new Endpoint(options));
    });
    try {
      for (const endpoint of this.#endpoints.values()) await endpoint.start();
    } catch (error) {
      await this.stop();
      throw error;
    }
    return Object.fromEntries([...this.#endpoints].map(([name, endpoint]) => [name, endpoint.url]));
  }

  /** Lets clients in and turns plant time on. `listener` hears the story too, as long as it wants. */
  run(listener: Listener | null = null): void {
    this.#listener = listener;
    for (const endpoint of this.#endpoints.values()) endpoint.open();
    this.#timer = setInterval(() => this.#beat(), BEAT_MS);
  }

  async stop(): Promise<void> {
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
    await Promise.all([...this.#endpoints.values()].map((endpoint) => endpoint.stop()));
    this.#endpoints.clear();
    await this.#certificates?.dispose();
    this.#certificates = null;
  }

  /** A plant that throws is broken code: it ends the program. */
  #beat(): void {
    const { plant, clock } = this.#options;
    const to = Math.min(clock.now(), plant.now + LONGEST_STEP_MS);
    if (to >= plant.now) plant.advance(to, this.#sink);
    if (this.#listener?.beat() === false) this.#listener = null;
  }

  #endpointOf(chamber: number): Endpoint | undefined {
    return this.#endpoints.get(this.#options.plant.chambers[chamber]?.server ?? '');
  }

  readonly #sink: PlantSink = {
    tag: (chamber, tag, value, at, sourceAt) => {
      this.#options.image.tag(chamber, tag, value, at, sourceAt);
      this.#endpointOf(chamber)?.tag(chamber, tag);
      this.#listener?.sink.tag(chamber, tag, value, at, sourceAt);
    },
    condition: (chamber, condition, active, at, sourceAt) => {
      this.#options.image.condition(chamber, condition, active, at, sourceAt);
      this.#endpointOf(chamber)?.condition(chamber, condition);
      this.#listener?.sink.condition(chamber, condition, active, at, sourceAt);
    },
    link: (server, state, at) => {
      this.#options.image.link(server, state, at);
      this.#listener?.sink.link(server, state, at);
      const endpoint = this.#endpoints.get(server);
      if (state === 'restart') endpoint?.restart().catch(this.#options.onError);
      else endpoint?.link();
    },
  };
}
