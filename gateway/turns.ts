/** One deed after another, whatever becomes of the one before. */
export function turns(): <T>(deed: () => Promise<T>) => Promise<T> {
  let last: Promise<unknown> = Promise.resolve();
  return (deed) => {
    const next = last.then(deed, deed);
    last = next;
    return next;
  };
}
