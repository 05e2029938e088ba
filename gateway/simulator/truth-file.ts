/** What really happened, one JSON line each, appended as the plant tells it and on disk within a second. */
import { appendFile } from 'node:fs/promises';
import type { TruthLine } from './plant-port.ts';

const FLUSH_MS = 1000;

export class TruthFile {
  readonly #file: string;
  readonly #onError: (error: unknown) => void;
  #lines: string[] = [];
  #timer: NodeJS.Timeout | null = null;
  #writing: Promise<void> = Promise.resolve();

  constructor(file: string, onError: (error: unknown) => void) {
    this.#file = file;
    this.#onError = onError;
  }

  start(): void {
    this.#timer = setInterval(() => void this.flush().catch(this.#onError), FLUSH_MS);
  }

  readonly write = (line: TruthLine): void => {
    this.#lines.push(JSON.stringify(line));
  };

  /** One write after the other; what could not be written is kept for the next. */
  flush(): Promise<void> {
    this.#writing = this.#writing
      .catch(() => {})
      .then(async () => {
        const lines = this.#lines;
        if (lines.length === 0) return;
        this.#lines = [];
        await appendFile(this.#file, `${lines.join('\n')}\n`).catch((error: unknown) => {
          this.#lines = [...lines, ...this.#lines];
          throw error;
        });
      });
    return this.#writing;
  }

  async stop(): Promise<void> {
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
    await this.flush();
  }
}
