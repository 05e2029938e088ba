/**
 * Follows the site file: what was written is read, judged as a whole, and taken over or refused. A bad file changes nothing and is shown until a good
 * one stands in its place. One reading at a time.
 */
import { Fault } from '../src/fault.ts';
import type { SiteFile } from '../src/config.ts';
import { FileWatch, lookAt, type FileLook } from './file-watch.ts';
import type { SiteUpdate } from './site-book.ts';

/** Where the site file is and how its text becomes a site. */
export type SiteSource = {
  readonly file: string;
  /** The text that is in force. */
  readonly text: string;
  /** Throws a Fault `invalid` with a line per fault. */
  readonly parse: (text: string) => SiteFile;
};

export type FollowerParts = {
  readonly source: SiteSource;
  readonly clock: { now(): number };
  /** Puts it in force, live. */
  readonly take: (site: SiteFile, by: string) => Promise<SiteUpdate>;
  readonly log: (message: string, error?: unknown) => void;
  readonly onFatal: (error: unknown) => void;
  readonly everyMs?: number;
};

export type SiteFaults = { readonly at: number; readonly lines: readonly string[] };

export class SiteFollower {
  readonly #parts: FollowerParts;
  readonly #watch: FileWatch;
  #faults: SiteFaults | null = null;
  #work: Promise<unknown> = Promise.resolve();

  constructor(parts: FollowerParts) {
    this.#parts = parts;
    const { file, text } = parts.source;
    const { everyMs } = parts;
    const onWritten = (look: FileLook): void => void this.#inTurn(() => this.#judge(look, 'the file')).catch(() => undefined);
    this.#watch = new FileWatch({ file, known: { text }, onWritten, ...(everyMs === undefined ? {} : { everyMs }) });
  }

  get file(): string {
    return this.#parts.source.file;
  }

  /** Why the file as it is written is not in force; null when it is. */
  get faults(): SiteFaults | null {
    return this.#faults;
  }

  start(): void {
    this.#watch.start();
  }

  async stop(): Promise<void> {
    await this.#watch.stop();
    await this.#work;
  }

  /** Reads the file now. Throws the Fault with all its lines when it is not taken over. */
  reload(by: string): Promise<SiteUpdate> {
    return this.#inTurn(async () => {
      const look = await lookAt(this.file);
      this.#watch.note(look);
      return this.#judge(look, by);
    });
  }

  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const turn = this.#work.then(work);
    this.#work = turn.catch(() => undefined);
    return turn;
  }

  async #judge(look: FileLook, by: string): Promise<SiteUpdate> {
    const { take, log, clock } = this.#parts;
    const site = this.#read(look);
    if (site instanceof Fault) {
      this.#faults = { at: clock.now(), lines: site.message.split('\n') };
      log(`The site file was not taken over, and nothing was changed.\n${site.message}`);
      throw site;
    }
    this.#faults = null;
    const update = await take(site, by).catch((error: unknown) => {
      this.#parts.onFatal(error);
      throw error;
    });
    for (const { text } of update.changes) log(`Site file: ${text}`);
    return update;
  }

  #read(look: FileLook): SiteFile | Fault {
    const { source } = this.#parts;
    if ('trouble' in look)
      return new Fault('unreadable', `The site file ${source.file} cannot be read (${look.trouble}). Put it back in its place.`);
    try {
      return source.parse(look.text);
    } catch (error) {
      if (error instanceof Fault) return error;
      // A parser that breaks on a text is a fault of ours; what is in force stays so all the same.
      const words = error instanceof Error ? error.message : String(error);
      return new Fault('invalid', `${source.file}:1 the file cannot be read: ${words.slice(0, 200)}`, error);
    }
  }
}
