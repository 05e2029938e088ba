/**
 * Notices that a file was written, by looking at it: a word from the operating system is lost on network drives, in containers, and when an editor puts
 * another file in its place. Written it is when two looks in a row find the same text, so that a file half written, or gone for a moment, tells
 * nothing.
 */
import { readFile, stat } from 'node:fs/promises';

export type FileLook = { readonly text: string } | { readonly trouble: string };

const EVERY_MS = 1_000;
/** A site of 5000 chambers has a few megabytes. */
const LARGEST_BYTES = 32 * 1024 * 1024;

export type FileWatchParts = {
  readonly file: string;
  /** What is known of the file already. */
  readonly known: FileLook;
  readonly onWritten: (look: FileLook) => void;
  readonly everyMs?: number;
};

export class FileWatch {
  readonly #parts: FileWatchParts;
  #told: string;
  #seen: string | null = null;
  #timer: NodeJS.Timeout | null = null;
  #looking: Promise<void> | null = null;

  constructor(parts: FileWatchParts) {
    this.#parts = parts;
    this.#told = JSON.stringify(parts.known);
  }

  start(): void {
    this.#timer = setInterval(() => {
      this.#looking ??= this.#look().finally(() => (this.#looking = null));
    }, this.#parts.everyMs ?? EVERY_MS);
  }

  async stop(): Promise<void> {
    if (this.#timer) clearInterval(this.#timer);
    this.#timer = null;
    await this.#looking;
  }

  /** It was read elsewhere: that text is no news any more. */
  note(look: FileLook): void {
    this.#told = JSON.stringify(look);
  }

  async #look(): Promise<void> {
    const look = await lookAt(this.#parts.file);
    const face = JSON.stringify(look);
    const isSettled = face === this.#seen;
    this.#seen = face;
    if (!isSettled || face === this.#told || this.#timer === null) return;
    this.#told = face;
    this.#parts.onWritten(look);
  }
}

export async function lookAt(file: string): Promise<FileLook> {
  try {
    const { size } = await stat(file);
    if (size > LARGEST_BYTES) return { trouble: `it has ${Math.round(size / 1024 / 1024)} MB` };
    return { text: await readFile(file, 'utf8') };
  } catch (error) {
    return { trouble: error instanceof Error && 'code' in error ? String(error.code) : String(error) };
  }
}
