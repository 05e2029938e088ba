/**
 * Dice. One stream per purpose, so that adding a fault does not reshuffle everything else. A stream is plain data and survives a snapshot.
 * Generator: mulberry32 (public domain, common practice).
 */
export type Stream = { s: number };

/** A stream of its own for every seed and purpose (FNV-1a over the purpose's name). */
export function stream(seed: number, purpose: string): Stream {
  let hash = 0x811c9dc5 ^ seed;
  for (let i = 0; i < purpose.length; i++) hash = Math.imul(hash ^ purpose.charCodeAt(i), 0x01000193);
  return { s: Math.imul(hash ^ (hash >>> 15), 0x2c1b3c6d) | 0 };
}

/** In [0, 1). */
export function uniform(stream: Stream): number {
  const s = (stream.s + 0x6d2b79f5) | 0;
  stream.s = s;
  let t = Math.imul(s ^ (s >>> 15), 1 | s);
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
  return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
}

export const between = (stream: Stream, low: number, high: number): number => low + (high - low) * uniform(stream);

/** An integer of low..high, both included. */
export const integer = (stream: Stream, low: number, high: number): number => low + Math.floor(uniform(stream) * (high - low + 1));

/** Standard normal by Box and Muller. */
export function normal(stream: Stream): number {
  return Math.sqrt(-2 * Math.log(1 - uniform(stream))) * Math.cos(2 * Math.PI * uniform(stream));
}

/** Nearly normal and cheap, for instrument noise: three uniforms. Standard deviation 1, never beyond ±3. */
export function noise(stream: Stream): number {
  return (uniform(stream) + uniform(stream) + uniform(stream) - 1.5) * 2;
}

export const logNormal = (stream: Stream, median: number, sigma: number): number => median * Math.exp(sigma * normal(stream));

/** Time to the next event of a process with this mean spacing. */
export const exponential = (stream: Stream, mean: number): number => -mean * Math.log(1 - uniform(stream));

export function pick<T>(stream: Stream, items: readonly (readonly [T, number])[]): T {
  let total = 0;
  for (const [, weight] of items) total += weight;
  let left = uniform(stream) * total;
  for (const [item, weight] of items) if ((left -= weight) < 0) return item;
  return (items[items.length - 1] as readonly [T, number])[0];
}
