/**
 * The week in plain sentences, most important first.
 * [WH1] Four earlier weeks with at least 80 % of their time observed are needed before anything is called more, less or changed.
 * [WH2] Usual is where one more week would fall 99 times of 100 if weeks varied normally: mean -+ t s sqrt(1 + 1/n), the textbook prediction
 *       interval. A number inside it is as usual and no news. It is wide when the weeks are few, as it must be.
 * [WH3] Loads are compared only between whole weeks with at least 95 % of their time observed: what nobody saw was not counted. Nor is
 *       anything else of a week that still runs compared with whole ones.
 * [WH4] A share that cannot be stated is given as the bounds it must lie in.
 * [WH5] Time not observed is always told, and what was not watched is never called absent: no 'no alarms' of a week that nobody saw.
 * [WH6] Rounding turns neither a little into nothing nor nearly all into all.
 * [WH7] What changed is told with why as far as the books tell it: the cause that took most more (or less) of the observed time than usual, when
 *       it left its own usual spread. Causes inside their spread are not offered as reasons. A cause that earlier weeks did not have is
 *       called usually none, not a spread of nothing.
 * [WH8] Failures are told with the bounds of the time between them and with how many of them that time counts; no failure is told with the
 *       hours in which there was none.
 * (Own rules otherwise. A page with a dozen chambers would call chance a change every week by any narrower rule.)
 */
import type { SeenNumbers, Share, Usual, WeekLoss, WeekPage } from './numbers.ts';
import { meanAndSd, median } from './stats.ts';
import { COUNTING_COVERAGE, observedMs, totalMs } from './utilization.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

/** [WH1] */
const LEAST_WEEKS = 4;
const CHANGES_TOLD = 3;
/** Student's t, 99.5 % quantile by degrees of freedom (any textbook table); beyond the table the last one, which is on the careful side. */
const STUDENT_T_995: Readonly<Record<number, number>> = { 3: 5.841, 4: 4.604, 5: 4.032, 6: 3.707, 7: 3.499 };
const LARGE_T = 3.499;

type Page = Pick<WeekPage, 'complete' | 'fleet' | 'chambers' | 'previous' | 'losses' | 'drift' | 'unexplained'>;

type Previous = readonly Page['previous'][number][];

export function headline(page: Page): string[] {
  if (totalMs(page.fleet.time) === 0) return ['This week has not begun.'];
  if (observedMs(page.fleet.time) === 0) return ['Nothing was observed in this week.'];
  return [
    loadsSentence(page),
    utilizationSentence(page),
    lossSentence(page.losses, page.fleet),
    ...movedSentences(page.losses),
    failureSentence(page.fleet),
    ...changes(page),
    alarmSentence(page.fleet),
    ...driftSentences(page.drift),
    ...unexplainedSentences(page),
    unobservedSentence(page.fleet),
  ];
}

/** [WH1] [WH2] What earlier weeks make usual, or null when they are too few. */
export function usualOf(values: readonly (number | null | undefined)[]): Usual | null {
  const known = values.filter((value): value is number => typeof value === 'number');
  if (known.length < LEAST_WEEKS) return null;
  const { n, mean, sd } = meanAndSd(known) as { n: number; mean: number; sd: number };
  const reach = (STUDENT_T_995[n - 1] ?? LARGE_T) * sd * Math.sqrt(1 + 1 / n);
  return { low: Math.max(0, mean - reach), high: mean + reach, median: median(known), weeks: n };
}

const isUsual = (value: number, usual: Usual): boolean => value >= usual.low && value <= usual.high;

/** [WH1] The earlier weeks that may be compared with. */
function comparable(previous: Previous): Previous {
  return previous.filter((week) => week.totalUtilization.value !== null);
}

/** [WH3] */
function loadsSentence({ complete, fleet, previous }: Page): string {
  const loads = fleet.loads.completed ?? 0;
  if (!complete) return `${counted(loads, 'load')} so far; the week is still running.`;
  if (!isCounted(fleet.totalUtilization))
    return `${counted(loads, 'load')} seen, with ${percent(fleet.totalUtilization.coverage)} of the time observed.`;
  const usual = usualLoads(previous);
  if (!usual) return `${counted(loads, 'load')}. Fewer than ${LEAST_WEEKS} earlier weeks are on record, so nothing is compared yet.`;
  const difference = Math.round(loads - usual.median);
  const against = difference === 0 ? 'the median' : `${Math.abs(difference)} ${difference > 0 ? 'more' : 'fewer'} than the median`;
  const verdict = isUsual(loads, usual)
    ? 'within the usual spread'
    : `outside the usual ${Math.round(usual.low)} to ${Math.round(usual.high)}`;
  return `${counted(loads, 'load')}, ${against} of the ${usual.weeks} weeks before, ${verdict}.`;
}

/** An earlier week that may be compared with, and its figure. */
export type ComparedWeek = { readonly week: string; readonly value: number };

const known = (week: string, value: number | null): ComparedWeek[] => (value === null ? [] : [{ week, value }]);
const usualIn = (weeks: readonly ComparedWeek[]): Usual | null => usualOf(weeks.map(({ value }) => value));

/** [WH3] */
export const comparedLoads = (previous: Previous): readonly ComparedWeek[] =>
  previous.filter((week) => isCounted(week.totalUtilization)).flatMap(({ week, loads }) => known(week, loads.completed));

/** [WH1] */
export const comparedUtilization = (previous: Previous): readonly ComparedWeek[] =>
  comparable(previous).flatMap(({ week, operationalUtilization }) => known(week, operationalUtilization.value));

/** [WH1] [WH3] What earlier weeks make a usual number of loads: the page's figure and its sentence say the same. */
export const usualLoads = (previous: Previous): Usual | null => usualIn(comparedLoads(previous));

/** [WH1] Likewise of the fleet's operational utilization. */
export const usualUtilization = (previous: Previous): Usual | null => usualIn(comparedUtilization(previous));

const isCounted = (share: Share): boolean => (share.coverage ?? 0) >= COUNTING_COVERAGE;

/** [WH4] */
function utilizationSentence({ complete, fleet, previous }: Page): string {
  const share = fleet.operationalUtilization;
  if (share.value === null) return unstated('Operational utilization', share);
  const usual = complete ? usualUtilization(previous) : null;
  const verdict = !usual
    ? ''
    : isUsual(share.value, usual)
      ? ', as usual'
      : `, outside the usual ${percent(usual.low)} to ${percent(usual.high)}`;
  return `Operational utilization ${percent(share.value)} of operations time, ${percent(share.coverage)} of it observed${verdict}.`;
}

function unstated(name: string, share: Share): string {
  if (share.low === null) return `${name} cannot be stated: there was no time to divide by.`;
  return `${name} cannot be stated: ${percent(share.coverage)} of the time was observed; it lies between ${percent(share.low)} and ${percent(share.high)}.`;
}

function lossSentence(losses: readonly WeekLoss[], fleet: SeenNumbers): string {
  const largest = losses.find((loss) => loss.state !== 'unobserved');
  if (!largest) return 'No standby and no downtime was seen.';
  const { cause, lostMs, loads, chambers } = largest;
  const part = percent(lostMs / Math.max(1, observedMs(fleet.time)));
  const room = loads !== null && loads >= 1 ? `, the time of ${counted(Math.round(loads), 'load')}` : '';
  return `Largest loss: ${cause}, ${hours(lostMs)} in ${counted(chambers.length, 'chamber')}, ${part} of observed time${room}.`;
}

/** [WH7] The loss that left its usual spread by most hours, if any did. */
export function movedLoss(losses: readonly WeekLoss[]): (WeekLoss & { readonly usual: Usual }) | null {
  const moved = losses.filter(
    (loss): loss is WeekLoss & { readonly usual: Usual } => loss.usual !== null && !isUsual(loss.lostMs, loss.usual),
  );
  const size = ({ lostMs, usual }: (typeof moved)[number]): number => Math.abs(lostMs - usual.median);
  return moved.sort((a, b) => size(b) - size(a))[0] ?? null;
}

/** [WH7] */
function movedSentences(losses: readonly WeekLoss[]): readonly string[] {
  const moved = movedLoss(losses);
  if (!moved) return [];
  const { cause, lostMs, usual, chambers } = moved;
  const difference = lostMs - usual.median;
  const worst = [...chambers].sort((a, b) => b.lostMs - a.lostMs)[0];
  const where = worst && difference > 0 && worst.lostMs > 0.5 * lostMs ? `, most of it at ${worst.chamber}` : '';
  const change = `${hours(Math.abs(difference))} ${difference > 0 ? 'more' : 'less'} than the median`;
  const before = usual.high === 0 ? 'usually none' : `usually ${hours(usual.low)} to ${hours(usual.high)}`;
  return [`What changed most: ${cause} took ${hours(lostMs)}, ${change}, ${before}${where}.`];
}

/** [WH8] */
function failureSentence({ reliability }: SeenNumbers): string {
  const { mtbfProductive, mttr } = reliability;
  const [failures, assists] = [reliability.failures ?? 0, reliability.assists ?? 0];
  const assisted = assists === 0 ? '' : `; ${counted(assists, 'assist')}`;
  const sure = `with ${Math.round(100 * mtbfProductive.confidence)} % confidence`;
  const { estimate, low, high, amount, count } = mtbfProductive;
  if (failures === 0) {
    const least = low === null ? '' : `: at least ${hours(low)} between failures ${sure}`;
    return `No failure in ${hours(amount)} of productive time${least}${assisted}.`;
  }
  const between =
    estimate === null || low === null || high === null
      ? ''
      : `, ${count < failures ? `${count} of them in productive time: one in ${hours(estimate)} of it` : `one in ${hours(estimate)} of productive time`} (${hours(low)} to ${hours(high)} ${sure})`;
  const repair = mttr.estimate === null ? '' : `, repaired in ${hours(mttr.estimate)} on average`;
  return `${counted(failures, 'failure')}${between}${repair}${assisted}.`;
}

function driftSentences(drift: Page['drift']): readonly string[] {
  const first = drift[0];
  if (!first) return [];
  const others = drift.length > 1 ? ` (and ${drift.length - 1} more)` : '';
  const what = first.text.split(/\.(?:\s|$)/)[0] ?? '';
  return [`Drift at ${first.chamber}: ${what}${others}.`];
}

function unexplainedSentences({ unexplained: { stops, lostMs, share } }: Page): readonly string[] {
  if (stops === null || lostMs === null || (stops === 0 && lostMs === 0)) return [];
  return [
    `${hours(lostMs)} of unscheduled downtime in ${counted(stops, 'stop')} ${stops === 1 ? 'has' : 'have'} no reason yet (${percent(share)} of it).`,
  ];
}

function alarmSentence(fleet: SeenNumbers): string {
  const { worst, floods } = fleet.alarms;
  const activations = fleet.alarms.activations ?? 0;
  if (activations === 0) return 'No alarms were seen.';
  const first = worst[0];
  const share = first
    ? ` Worst: ${first.text || first.code} at ${first.chamber}, ${first.activations} of them or ${percent(first.share)}${first.chattering ? ', chattering' : ''}.`
    : '';
  const flooded = floods.length > 0 ? `, ${counted(floods.length, 'flood')}` : '';
  return `${counted(activations, 'alarm')}${flooded}.${share}`;
}

type Change = { readonly text: string; readonly size: number };

/** [WH1] [WH2] [WH3] What left its usual spread, largest first. */
function changes(page: Page): readonly string[] {
  const weeks = comparable(page.previous);
  if (!page.complete || weeks.length < LEAST_WEEKS) return [];
  const found = [...chamberChanges(page, weeks), ...recipeChanges(page, weeks)].sort((a, b) => b.size - a.size);
  if (found.length === 0) {
    const isQuiet = page.losses.some(({ usual }) => usual !== null) && movedLoss(page.losses) === null;
    return [`${isQuiet ? 'No cause of loss, no chamber' : 'No chamber'} and no recipe left its usual spread.`];
  }
  return found.slice(0, CHANGES_TOLD).map((change) => change.text);
}

function chamberChanges({ chambers }: Page, weeks: Previous): readonly Change[] {
  return chambers.flatMap(({ chamber, operationalUtilization: { value } }) => {
    const usual = usualOf(weeks.map((week) => week.byChamber.find((one) => one.chamber === chamber)?.operationalUtilization.value));
    if (value === null || !usual || isUsual(value, usual)) return [];
    const text = `${chamber}: operational utilization ${percent(value)}, usually ${percent(usual.low)} to ${percent(usual.high)}.`;
    return [{ text, size: distance(value, usual) }];
  });
}

function recipeChanges({ fleet }: Page, weeks: Previous): readonly Change[] {
  return fleet.recipes.flatMap(({ recipe, processTime }) => {
    const usual = usualOf(weeks.map((week) => week.recipes.find((one) => one.recipe === recipe)?.processTime?.p50));
    if (!processTime || !usual || isUsual(processTime.p50, usual)) return [];
    const text = `${recipe}: median process time ${minutes(processTime.p50)}, usually ${minutes(usual.low)} to ${minutes(usual.high)}.`;
    return [{ text, size: distance(processTime.p50, usual) }];
  });
}

/** How far outside, as a part of what is usual: comparable between a share and a time. */
function distance(value: number, usual: Usual): number {
  return Math.max(usual.low - value, value - usual.high) / Math.max(usual.median, Number.EPSILON);
}

/** [WH5] */
function unobservedSentence({ time }: SeenNumbers): string {
  if (time.unobserved === 0) return 'All time was observed.';
  const part = hours(time.unobserved).replace(/^l/, 'L');
  return `${part} of ${hours(totalMs(time))} were not observed (${percent(time.unobserved / totalMs(time))}).`;
}

const counted = (count: number, noun: string): string => `${count} ${noun}${count === 1 ? '' : 's'}`;
const hours = (ms: number): string => (ms > 0 && ms < 0.05 * HOUR_MS ? 'less than 0.1 h' : `${(ms / HOUR_MS).toFixed(1)} h`);
const minutes = (ms: number): string => `${(ms / MINUTE_MS).toFixed(1)} min`;

/** [WH6] */
function percent(share: number | null): string {
  if (share === null) return 'an unknown part';
  if (share > 0 && share < 0.0005) return 'less than 0.1 %';
  if (share < 1 && share >= 0.9995) return 'over 99.9 %';
  return `${(100 * Math.min(1, share)).toFixed(1)} %`;
}
