/**
 * The site that is in force while the gateway runs: what it says, the plant that answers read, and how another one takes its place. First on disk
 * and in words, then chambers and rules between two turns of the pipeline, then the links it concerns, then what answers, shows and tells. What
 * was not changed is not touched.
 */
import type { SiteFile } from '../src/config.ts';
import { canonical } from '../src/canonical.ts';
import type { SiteAnswers } from './http/answers-port.ts';
import { plantOf, presentPlant, type Plant } from './plant.ts';
import type { SiteTurn } from './pipeline.ts';
import { SiteBook, type SiteUpdate } from './site-book.ts';
import { SiteFollower, type SiteSource } from './site-follower.ts';
import type { Store } from './store/store.ts';

export type SiteParts = {
  readonly site: SiteFile;
  readonly source: SiteSource;
  readonly store: Store;
  readonly clock: { now(): number };
  readonly core: { readonly chambers: readonly string[]; setSite(site: SiteFile): void };
  /** Of the pipeline. */
  readonly change: (turn: SiteTurn) => Promise<void>;
  /** Rules, chambers and plant are those of the new site: the links, and what answers, shows and tells. `is` says what differs. */
  readonly renew: (is: (...parts: (keyof SiteFile)[]) => boolean) => Promise<void>;
  readonly log: (message: string, error?: unknown) => void;
  readonly onFatal: (error: unknown) => void;
  readonly everyMs?: number;
};

/** Of a broken site file on the page of links; all of them are in /api/site. */
const MOST_FAULTS_TOLD = 20;

export class SiteInForce {
  readonly #parts: SiteParts;
  readonly #book: SiteBook;
  readonly #plant: ReturnType<typeof presentPlant>;
  readonly #follower: SiteFollower;

  constructor(parts: SiteParts) {
    const { site, source, store, clock, log, onFatal, everyMs } = parts;
    this.#parts = parts;
    this.#book = new SiteBook({ store, site });
    this.#plant = presentPlant(plantOf(site));
    const take = (next: SiteFile, by: string): Promise<SiteUpdate> => this.#take(next, by);
    this.#follower = new SiteFollower({ source, clock, take, log, onFatal, ...(everyMs === undefined ? {} : { everyMs }) });
  }

  get file(): SiteFile {
    return this.#book.site;
  }

  /** Always the present one: to be read when asked. */
  get plant(): Plant {
    return this.#plant.plant;
  }

  /** Chambers that the site file had before. */
  get former(): readonly string[] {
    return this.#book.former;
  }

  /** Notes what was changed while no gateway ran; to be called before the pipeline starts. */
  async start(): Promise<SiteUpdate['dropped']> {
    const meanwhile = await this.#book.start(this.#parts.clock.now());
    this.#plant.set(plantOf(this.file, this.#book.members));
    for (const { text } of meanwhile?.changes ?? []) this.#parts.log(`Site file, since the last start: ${text}`);
    return meanwhile?.dropped ?? [];
  }

  /** From now on a written file is taken over. */
  follow(): void {
    this.#follower.start();
  }

  stop(): Promise<void> {
    return this.#follower.stop();
  }

  problems(): readonly string[] {
    const faults = this.#follower.faults?.lines ?? [];
    if (faults.length === 0) return [];
    const more = faults.length > MOST_FAULTS_TOLD ? [`and ${faults.length - MOST_FAULTS_TOLD} more`] : [];
    return ['The site file as it is written is not in force; it changed nothing:', ...faults.slice(0, MOST_FAULTS_TOLD), ...more];
  }

  answers(): SiteAnswers {
    return {
      site: () => {
        const { faults, file } = this.#follower;
        return {
          file,
          chambers: this.file.chambers.length,
          servers: this.file.servers.length,
          faults: faults === null ? null : { at: faults.at, lines: [...faults.lines] },
          takings: this.#book.takings.map(({ changes, ...taking }) => ({ ...taking, changes: [...changes] })),
          former: this.#book.gone.map((gone) => ({ ...gone })),
        };
      },
      reloadSite: async (by) => {
        const { changes, links } = await this.#follower.reload(by);
        const { kept, renewed, begun, ended } = links;
        return { changes: [...changes], links: { kept: [...kept], renewed: [...renewed], begun: [...begun], ended: [...ended] } };
      },
    };
  }

  async #take(next: SiteFile, by: string): Promise<SiteUpdate> {
    const { core, clock, change, renew } = this.#parts;
    const before = this.file;
    const update = await this.#book.take(next, { at: clock.now(), by });
    if (update.changes.length === 0) return update;
    const chambers = next.chambers.map(({ id }) => id);
    await change({ chambers, dropped: update.dropped, take: () => core.setSite(next) });
    this.#plant.set(plantOf(next, this.#book.members));
    await renew((...parts) => parts.some((part) => canonical(before[part] ?? null) !== canonical(next[part] ?? null)));
    return update;
  }
}
