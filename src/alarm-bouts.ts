/**
 * When an alarm was busy, in hindsight: the two-state automaton of Kleinberg (Data Mining and Knowledge Discovery 7 (2003) 373, from memory).
 * [AB1] Gaps are exponential at the mean rate in the quiet state and at s times that in the busy one; going up costs gamma ln n, down nothing.
 *       The labels are the cheapest sequence, quiet at first; of equals the quiet one.
 * [AB2] A bout is a stretch of busy gaps with at least five activations. It labels the past; it never wakes anybody.
 */

type BoutRule = { readonly s: number; readonly gamma: number };
export type Bout = { readonly from: number; readonly to: number; readonly activations: number };

const RULE: BoutRule = { s: 2, gamma: 1 };
const LEAST_ACTIVATIONS = 5;

/** [AB1] For each gap whether the automaton was busy. */
export function busyGaps(gaps: readonly number[], { s, gamma }: BoutRule): readonly boolean[] {
  const total = gaps.reduce((sum, gap) => sum + gap, 0);
  if (gaps.length === 0 || total <= 0) return gaps.map(() => false);
  const rate = gaps.length / total;
  const [quietCost, busyCost] = [exponentialCost(rate), exponentialCost(rate * s)];
  const up = gamma * Math.log(gaps.length);
  /** Cheapest cost so far of being quiet, busy. Before the first gap it was quiet. */
  let [quiet, busy] = [0, Infinity];
  /** Whether the cheapest way into quiet, into busy, came from busy. */
  const cameFromBusy: [boolean, boolean][] = [];
  for (const gap of gaps) {
    const [toQuiet, toBusy] = [busy < quiet, busy <= quiet + up];
    cameFromBusy.push([toQuiet, toBusy]);
    [quiet, busy] = [Math.min(quiet, busy) + quietCost(gap), Math.min(quiet + up, busy) + busyCost(gap)];
  }
  return tracedBack(cameFromBusy, busy < quiet);
}

const exponentialCost =
  (rate: number) =>
  (gap: number): number =>
    rate * gap - Math.log(rate);

function tracedBack(cameFromBusy: readonly (readonly [boolean, boolean])[], endsBusy: boolean): readonly boolean[] {
  const labels: boolean[] = [];
  let isBusy = endsBusy;
  for (let i = cameFromBusy.length - 1; i >= 0; i--) {
    labels.push(isBusy);
    isBusy = (cameFromBusy[i] as readonly [boolean, boolean])[isBusy ? 1 : 0];
  }
  return labels.reverse();
}

/** [AB2] Of one alarm's activation times, ascending. */
export function bouts(times: readonly number[], rule: BoutRule = RULE): readonly Bout[] {
  const gaps = times.slice(1).map((time, i) => time - (times[i] as number));
  const labels = busyGaps(gaps, rule);
  const out: Bout[] = [];
  for (let i = 0; i < labels.length; i++) {
    if (!labels[i]) continue;
    const first = i;
    while (labels[i + 1]) i++;
    const activations = i - first + 2;
    if (activations >= LEAST_ACTIVATIONS) out.push({ from: times[first] as number, to: times[i + 1] as number, activations });
  }
  return out;
}
