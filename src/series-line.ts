/**
 * A straight line through samples.
 * [SL1] The slope is the least-squares one, per second; null for fewer than two instants.
 */
export type Known = { readonly atS: number; readonly value: number };

/** [SL1] */
export function slope(samples: readonly Known[]): number | null {
  const n = samples.length;
  if (n < 2) return null;
  const meanS = samples.reduce((sum, { atS }) => sum + atS, 0) / n;
  const mean = samples.reduce((sum, { value }) => sum + value, 0) / n;
  const squares = samples.reduce((sum, { atS }) => sum + (atS - meanS) ** 2, 0);
  if (squares === 0) return null;
  return samples.reduce((sum, { atS, value }) => sum + (atS - meanS) * (value - mean), 0) / squares;
}
