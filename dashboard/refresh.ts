/** Asks again and again while a page stands open: at once, then each so many milliseconds, until the effect that started it ends. */
export function every(intervalMs: number, ask: () => Promise<void>): () => void {
  void ask();
  const timer = setInterval(() => void ask(), intervalMs);
  return () => clearInterval(timer);
}

/** The page says what went wrong in the words of the error. */
export const sentenceOf = (error: unknown): string => (error instanceof Error ? error.message : String(error));
