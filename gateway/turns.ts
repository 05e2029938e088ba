/** One deed after another, whatever becomes of the one before. What a deed answers is not held on to. */
export function turns(): <T>(deed: () => Promise<T>) => Promise<T> {
  let last: Promise<void> = Promise.resolve();
  return (deed) => {
    const next = last.then(deed);
    last = next.then(over, over);
    return next;
  };
}

const over = (): void => undefined;
