/**
 * Patterns on a control chart, over values in units of sigma from the centre. Western Electric (NIST e-Handbook 6.3.2) and Nelson (1984), from memory.
 * [RR1] Beyond 3 sigma: one value.
 * [RR2] Two of three beyond 2 sigma, four of five beyond 1 sigma, on the same side; the last value is one of them.
 * [RR3] Eight, or nine, in a row on the same side.
 * [RR4] Six steadily rising or falling; fourteen alternating up and down.
 * [RR5] Fifteen in a row within 1 sigma; eight in a row outside it on both sides taken together.
 * [RR6] Rules add up their false alarms, so two are the default: beyond 3 sigma, and nine on the same side.
 * [RR7] A missing value ends every pattern: none reaches across it.
 */
export const RUN_RULES = [
  'beyond-3-sigma',
  'two-of-three-beyond-2-sigma',
  'four-of-five-beyond-1-sigma',
  'eight-same-side',
  'nine-same-side',
  'six-steadily',
  'fourteen-alternating',
  'fifteen-within-1-sigma',
  'eight-outside-1-sigma',
] as const;
export type RunRule = (typeof RUN_RULES)[number];
type RuleHit = { readonly rule: RunRule; readonly index: number };

/** [RR6] */
export const DEFAULT_RUN_RULES: readonly RunRule[] = ['beyond-3-sigma', 'nine-same-side'];

type Pattern = { readonly length: number; readonly holds: (z: readonly number[]) => boolean };

const bothSigns = (pattern: (z: readonly number[]) => boolean) => (z: readonly number[]) => pattern(z) || pattern(z.map((value) => -value));
const some = (needed: number, beyond: number) =>
  bothSigns((z) => (z.at(-1) as number) > beyond && z.filter((value) => value > beyond).length >= needed);
const sameSide = bothSigns((z) => z.every((value) => value > 0));
const steps = (z: readonly number[]): readonly number[] => z.slice(1).map((value, i) => value - (z[i] as number));

const PATTERNS: Readonly<Record<RunRule, Pattern>> = {
  'beyond-3-sigma': { length: 1, holds: some(1, 3) },
  'two-of-three-beyond-2-sigma': { length: 3, holds: some(2, 2) },
  'four-of-five-beyond-1-sigma': { length: 5, holds: some(4, 1) },
  'eight-same-side': { length: 8, holds: sameSide },
  'nine-same-side': { length: 9, holds: sameSide },
  'six-steadily': { length: 6, holds: bothSigns((z) => steps(z).every((step) => step > 0)) },
  'fourteen-alternating': { length: 14, holds: bothSigns((z) => steps(z).every((step, i) => (i % 2 === 0 ? step > 0 : step < 0))) },
  'fifteen-within-1-sigma': { length: 15, holds: (z) => z.every((value) => Math.abs(value) < 1) },
  'eight-outside-1-sigma': {
    length: 8,
    holds: (z) => z.every((value) => Math.abs(value) > 1) && z.some((value) => value > 0) && z.some((value) => value < 0),
  },
};

/** Every hit in order of the value that completed it; by default [RR6]. */
export function ruleHits(z: readonly (number | null)[], rules: readonly RunRule[] = DEFAULT_RUN_RULES): readonly RuleHit[] {
  return z.flatMap((_, index) => rules.filter((rule) => hits(z, index, PATTERNS[rule])).map((rule) => ({ rule, index })));
}

/** [RR7] */
function hits(z: readonly (number | null)[], index: number, { length, holds }: Pattern): boolean {
  if (index + 1 < length) return false;
  const seen = z.slice(index + 1 - length, index + 1).filter((value) => value !== null);
  return seen.length === length && holds(seen);
}
