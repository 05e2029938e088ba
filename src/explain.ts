/**
 * Every number of a window opens: formula in words and in figures, base, source, bounds, what was left out and why, and each stretch and run it
 * was made of.
 * [XN1] The parts of an explanation sum to the number it explains.
 * [XN3] A name that is no number's, or of a recipe, reason or shift that the window does not have, has no explanation.
 * [XN4] Where nobody observed anything, a number of nothing is not stated, as on the pages (seen.ts).
 */
import type { Position } from './alarm-targets.ts';
import type { Span } from './calendar.ts';
import { EQUIPMENT_STATES, type EquipmentState } from './equipment.ts';
import { explainAlarm, explainAlarmRate, explainAlarms, explainPeak } from './explain-alarm.ts';
import { ALARM_MEASURES, explainMeasure, explainPriority } from './explain-alarm-measure.ts';
import { explainMean, explainRuns, explainStops, LOAD_OUTCOMES, MEAN_NAMES, type MeanName, theoreticalParts } from './explain-count.ts';
import { explainCycles, explainIso, explainLossLoads, explainLossTimes, explainMinute, explainShift } from './explain-effect.ts';
import { type AskedNumber, explanationOf } from './explain-frame.ts';
import { explainCyclePart, explainRecipeLoads, explainSpread, explainWaitSum, SPREAD_TIMES } from './explain-spread.ts';
import { explainTarget } from './explain-target.ts';
import {
  explainCoverage,
  explainOee,
  explainShare,
  explainStateShare,
  explainStop,
  explainTime,
  explainUnexplained,
  explainWaitTimes,
  SHARE_NAMES,
  type ShareName,
} from './explain-time.ts';
import { explainUsual, type EarlierWeek } from './explain-usual.ts';
import type { Draft, Explanation } from './explanation.ts';
import { CYCLE_PARTS, type CyclePartName } from './kpi.ts';
import { causeOf, loadRates, losses } from './losses.ts';
import type { Loss, Share, WindowNumbers } from './numbers.ts';
import { observedMs } from './utilization.ts';
import type { FleetWindow } from './window.ts';

/** What some numbers rest on beside the window: who watches which chambers, and the weeks before of a week. */
export type Beside = { readonly positions: readonly Position[]; readonly previous: readonly EarlierWeek[] };
const NOTHING_BESIDE: Beside = { positions: [], previous: [] };

/** [XN1] [XN3] [XN4] Null for a name that is no number's. `found` is of the question's chamber alone, or of the whole fleet. */
export function explain(question: AskedNumber, found: FleetWindow, beside = NOTHING_BESIDE): Explanation | null {
  const [kind = '', ...rest] = question.number.split('/');
  const span = { from: found.fleet.from, to: found.fleet.to };
  const draft = EXPLAINERS.get(kind)?.(rest, { found, numbers: found.fleet, span, beside }) ?? null;
  return draft && explanationOf(question, onlySeen(draft, found), { span });
}

/** [XN4] Unobserved time itself is known. */
function onlySeen(draft: Draft, { fleet }: FleetWindow): Draft {
  const isKnown = draft.value !== 0 || observedMs(fleet.time) > 0;
  return isKnown ? draft : { ...draft, value: null, worked: 'not stated: nothing was observed' };
}

type Frame = { readonly found: FleetWindow; readonly numbers: WindowNumbers; readonly span: Span; readonly beside: Beside };
type Explainer = (rest: readonly string[], frame: Frame) => Draft | null;

const SHARES: Readonly<Record<ShareName, (numbers: WindowNumbers) => Share>> = {
  'total-utilization': (n) => n.totalUtilization,
  'operational-utilization': (n) => n.operationalUtilization,
  'total-uptime': (n) => n.totalUptime,
  'operational-uptime': (n) => n.operationalUptime,
  'equipment-dependent-uptime': (n) => n.equipmentDependentUptime,
  'supplier-dependent-uptime': (n) => n.supplierDependentUptime,
};

const shareExplainer =
  (name: ShareName): Explainer =>
  (_, { found, numbers }) =>
    explainShare(name, SHARES[name](numbers), found.parts);

const meanExplainer =
  (name: MeanName): Explainer =>
  (_, { found, numbers }) =>
    explainMean(name, numbers.reliability, found.parts);

/** Of a share of loads, by percentile and recipe. */
const spreadExplainer =
  (time: (typeof SPREAD_TIMES)[number]): Explainer =>
  ([percent = '', ...recipe], { found: { parts } }) => {
    const p = Number(percent);
    return Number.isInteger(p) && p >= 1 && p <= 99 ? explainSpread(time, p, { recipe: recipe.join('/'), parts }) : null;
  };

const lossExplainer =
  (explained: (loss: Loss, frame: Frame) => Draft): Explainer =>
  ([state, ...cause], frame) => {
    const name = cause.join('/');
    const loss = losses(frame.found.intervals, loadRates(frame.found.chambers)).find((one) => one.state === state && one.cause === name);
    return loss ? explained(loss, frame) : null;
  };

const minuteExplainer =
  (busy: boolean): Explainer =>
  ([part, ...rest], { found, numbers }) => {
    const recipe = recipeOf(rest);
    const line = numbers.throughput.find((one) => one.recipe === recipe)?.parts.find((one) => one.part === part);
    const value = busy ? line?.minuteLoadsPerWeekBusy : line?.minuteLoadsPerWeek;
    return line && value !== undefined ? explainMinute({ part: line.part, recipe, busy, value }, found) : null;
  };

const cycleExplainer =
  (busy: boolean): Explainer =>
  (rest, { found: { parts }, numbers }) => {
    const recipe = recipeOf(rest);
    return numbers.throughput.some((line) => line.recipe === recipe) ? explainCycles(recipe, busy, parts) : null;
  };

const shiftExplainer =
  (perShift: boolean): Explainer =>
  (rest, { found, numbers }) => {
    const line = numbers.shiftLoads.find(({ shift }) => shift === recipeOf(rest));
    return line ? explainShift(line, perShift, found) : null;
  };

const alarmExplainer =
  (asShare: boolean): Explainer =>
  ([chamber = '', ...code], { found: { parts }, span }) =>
    explainAlarm({ chamber, code: code.join('/'), asShare }, parts, span);

const measureExplainer =
  (measure: (typeof ALARM_MEASURES)[number]): Explainer =>
  (rest, { found: { parts }, span }) =>
    explainMeasure(measure, rest, { parts, window: span });

const EXPLAINERS: ReadonlyMap<string, Explainer> = new Map(
  Object.entries<Explainer>({
    ...Object.fromEntries(SHARE_NAMES.map((name) => [name, shareExplainer(name)])),
    ...Object.fromEntries(MEAN_NAMES.map((name) => [name, meanExplainer(name)])),
    ...Object.fromEntries(SPREAD_TIMES.map((time) => [time, spreadExplainer(time)])),
    coverage: (_, { found, numbers }) => explainCoverage(numbers.operationalUtilization, found.parts),
    time: ([state], { found: { parts } }) =>
      isState(state) ? explainTime(`time in ${state}`, (interval) => interval.state === state, parts) : null,
    'time-total': (_, { found: { parts } }) => explainTime('all time of the window', () => true, parts),
    'time-share': ([state], { found: { parts } }) => (isState(state) ? explainStateShare(state, parts) : null),
    failures: ([among = ''], { found: { parts }, numbers }) => explainStops('failure', numbers.reliability.rule, { parts, among }),
    assists: ([among = ''], { found: { parts }, numbers }) => explainStops('assist', numbers.reliability.rule, { parts, among }),
    'unexplained-downtime': (_, { found: { parts }, span }) => explainUnexplained('hours', parts, span),
    'unexplained-stops': (_, { found: { parts }, span }) => explainUnexplained('stops', parts, span),
    'unexplained-share': (_, { found: { parts }, span }) => explainUnexplained('share', parts, span),
    stop: ([from], { found: { parts }, span }) => explainStop(Number(from), parts, span),
    loads: ([outcome = 'completed'], { found: { parts } }) => {
      const chosen = LOAD_OUTCOMES.get(outcome);
      return chosen ? explainRuns(outcome === 'completed' ? 'loads' : `${outcome} runs`, chosen, parts) : null;
    },
    'recipe-loads': (recipe, { found: { parts } }) => some(explainRecipeLoads(recipe.join('/'), parts)),
    'shift-loads': shiftExplainer(false),
    'loads-per-shift': shiftExplainer(true),
    alarms: (_, { found: { parts }, span }) => explainAlarms(parts, span),
    'alarms-per-10-min': (_, { found: { parts }, numbers, span }) => explainAlarmRate(numbers.alarms, parts, span),
    'alarms-peak': (_, { found: { parts }, span }) => explainPeak(parts, span),
    alarm: alarmExplainer(false),
    'alarm-share': alarmExplainer(true),
    'alarm-target': ([name = '', ...position], { found: { parts }, span, beside: { positions } }) =>
      explainTarget({ name, position: position.join('/'), positions }, parts, span),
    ...Object.fromEntries(ALARM_MEASURES.map((name) => [name, measureExplainer(name)])),
    'alarm-priority': (rest, { found: { parts }, span, beside: { positions } }) =>
      explainPriority(rest, { parts, window: span }, positions),
    loss: lossExplainer(({ state, cause }, { found: { parts } }) =>
      explainTime(cause, (one) => one.state === state && causeOf(one) === cause, parts),
    ),
    'loss-loads': lossExplainer((loss, { found }) => explainLossLoads(loss, loadRates(found.chambers), found.parts)),
    'loss-times': lossExplainer((loss, { found }) => explainLossTimes(loss, found.parts)),
    waiting: (reason, { found: { parts } }) =>
      some(explainTime(reason.join('/'), (one) => one.state === 'standby' && one.reason === reason.join('/'), parts)),
    'waiting-times': (reason, { found: { parts } }) => some(explainWaitTimes(reason.join('/'), parts)),
    'wait-sum': (recipe, { found: { parts } }) => some(explainWaitSum(recipe.join('/'), parts)),
    oee: ([manner], { found, numbers }) => {
      const oee = numbers.oee.find((one) => one.manner === (manner === 'e79' ? 'SEMI E79' : manner === 'iso22400' ? 'ISO 22400-2' : ''));
      return oee ? explainOee(oee, found.parts, theoreticalParts(found.parts, found.nominal)) : null;
    },
    iso22400: (name, { found, numbers }) => {
      const figure = numbers.iso22400.find((one) => one.name === name.join('/'));
      return figure ? explainIso(figure, found.parts, theoreticalParts(found.parts, found.nominal)) : null;
    },
    cycles: cycleExplainer(false),
    'cycles-busy': cycleExplainer(true),
    'cycle-part': ([part, ...recipe], { found: { parts } }) =>
      CYCLE_PARTS.includes(part as CyclePartName) ? some(explainCyclePart(part as CyclePartName, recipeOf(recipe), parts)) : null,
    minute: minuteExplainer(false),
    'minute-busy': minuteExplainer(true),
    usual: (name, { numbers, beside: { previous } }) => explainUsual(name, previous, observedMs(numbers.time)),
  }),
);

/** The first parts of all names. */
export const WINDOW_NUMBERS: readonly string[] = [...EXPLAINERS.keys()];

/** Null for no name: all recipes, or outside every shift. */
const recipeOf = (rest: readonly string[]): string | null => (rest.join('/') === '' ? null : rest.join('/'));
const isState = (text: string | undefined): text is EquipmentState => EQUIPMENT_STATES.includes(text as EquipmentState);
/** [XN3] */
const some = (draft: Draft): Draft | null => (draft.madeOf.length > 0 ? draft : null);
