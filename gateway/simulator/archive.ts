/**
 * What a controller keeps of its own past: the last values of each tag in a ring, with both clocks. Some controllers have such a memory and
 * serve it as history, others do not.
 */
import type { LastValue } from './process-image.ts';

/** About an hour and a quarter of values that change every second. */
const KEPT = 4500;

export type Archive = {
  add(chamber: number, tag: number, last: LastValue): void;
  /** Values with from <= source time <= to, oldest first. */
  values(chamber: number, tag: number, span: { readonly from: number; readonly to: number }): readonly LastValue[];
};

export function archive(): Archive {
  const rings = new Map<string, LastValue[]>();
  return {
    add(chamber, tag, last) {
      const name = `${chamber}/${tag}`;
      const ring = rings.get(name) ?? [];
      if (ring.at(-1)?.sourceAt === last.sourceAt) return;
      ring.push(last);
      // Dropped by the half, so that keeping costs nothing on most values.
      rings.set(name, ring.length > 2 * KEPT ? ring.slice(-KEPT) : ring);
    },
    values: (chamber, tag, { from, to }) =>
      (rings.get(`${chamber}/${tag}`) ?? []).filter(({ sourceAt }) => sourceAt >= from && sourceAt <= to),
  };
}
