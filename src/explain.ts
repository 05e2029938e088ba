/**
 * Every number of a window opens: formula in words and in figures, base, source, bounds, what was left out and why, and each stretch and run it
 * was made of.
 * [XN1] The parts of an explanation sum to the number it explains.
 * [XN2] What a number was made of is told newest first, one page at a time; the total is always told.
 * [XN3] A name that is no number's, or of a recipe, reason or shift that the window does not have, has no explanation.
 */
import type { Span } from './calendar.ts';
import { isLoad, NO_RECIPE } from './cycle-time.ts';
import { EQUIPMENT_STATES, type EquipmentState } from './equipment.ts';
import {
  explainAlarmRate,
  explainAlarms,
  explainMean,
  explainRuns,
  explainStops,
  LOAD_OUTCOMES,
  MEAN_NAMES,
  type MeanName,
  theoreticalParts,
} from './explain-count.ts';
import { explainCyclePart, explainSpread, SPREAD_TIMES, type SpreadTime } from './explain-spread.ts';
import { explainCoverage, explainOee, explainShare, explainTime, SHARE_NAMES, type ShareName } from './explain-time.ts';
import { workedText } from './explain-words.ts';
import type { Draft, Explanation } from './explanation.ts';
import { CYCLE_PARTS, type CyclePartName } from './kpi.ts';
import type { Share, WindowNumbers } from './numbers.ts';
import { untoldStops } from './stops.ts';
import type { FleetWindow } from './window.ts';

export type ExplainQuestion = {
  /** 'operational-utilization', 'time/standby', 'loss/standby/idle', 'cycle-time/50/ACT-AR-07' ... */
  readonly number: string;
  readonly chamber: string | null;
  /** [XN2] */
  readonly offset: number;
  readonly limit: number;
};

/** [XN1]-[XN3] Null for a name that is no number's. `found` is of the question's chamber alone, or of the whole fleet. */
export function explain(question: ExplainQuestion, found: FleetWindow): Explanation | null {
  const { number, chamber, offset, limit } = question;
  const [kind = '', ...rest] = number.split('/');
  const frame = { found, numbers: found.fleet, window: { from: found.fleet.from, to: found.fleet.to } };
  const draft = EXPLAINERS.get(kind)?.(rest, frame) ?? named(kind, frame);
  if (draft === null) return null;
  const newest = [...draft.madeOf].sort((a, b) => b.from - a.from || (a.chamber < b.chamber ? -1 : 1));
  return {
    percentile: null,
    ...draft,
    number,
    chamber,
    ...frame.window,
    worked: workedText(draft),
    madeOf: newest.slice(offset, offset + limit),
    madeOfTotal: newest.length,
  };
}

type Frame = { readonly found: FleetWindow; readonly numbers: WindowNumbers; readonly window: Span };

const SHARES: Readonly<Record<ShareName, (numbers: WindowNumbers) => Share>> = {
  'total-utilization': (n) => n.totalUtilization,
  'operational-utilization': (n) => n.operationalUtilization,
  'total-uptime': (n) => n.totalUptime,
  'operational-uptime': (n) => n.operationalUptime,
  'equipment-dependent-uptime': (n) => n.equipmentDependentUptime,
  'supplier-dependent-uptime': (n) => n.supplierDependentUptime,
};

/** Numbers whose name is one word. */
function named(name: string, { found, numbers, window }: Frame): Draft | null {
  const { parts } = found;
  if (SHARE_NAMES.includes(name as ShareName)) return explainShare(name as ShareName, SHARES[name as ShareName](numbers), parts);
  if (MEAN_NAMES.includes(name as MeanName)) return explainMean(name as MeanName, numbers.reliability, parts);
  switch (name) {
    case 'coverage':
      return explainCoverage(numbers.operationalUtilization, parts);
    case 'failures':
      return explainStops('failure', numbers.reliability.rule, parts);
    case 'assists':
      return explainStops('assist', numbers.reliability.rule, parts);
    case 'alarms':
      return explainAlarms(parts, window);
    case 'alarms-per-10-min':
      return explainAlarmRate(numbers.alarms, parts, window);
    case 'unexplained-downtime':
      return explainUnexplained(found);
    default:
      return null;
  }
}

type Explainer = (rest: readonly string[], frame: Frame) => Draft | null;

/** Numbers whose name goes on: which state, cause, recipe, shift. */
const EXPLAINERS: ReadonlyMap<string, Explainer> = new Map(
  Object.entries<Explainer>({
    time: ([state], { found: { parts } }) =>
      isState(state) ? explainTime(`time in ${state}`, (interval) => interval.state === state, parts) : null,
    loads: ([outcome = 'completed'], { found: { parts } }) => {
      const chosen = LOAD_OUTCOMES.get(outcome);
      return chosen ? explainRuns(outcome === 'completed' ? 'loads' : `${outcome} runs`, chosen, parts) : null;
    },
    loss: ([state, ...cause], { found: { parts } }) => {
      if (!isState(state)) return null;
      const reason = cause.join('/');
      return some(explainTime(reason, (one) => one.state === state && (state === 'unobserved' || one.reason === reason), parts));
    },
    waiting: (rest, { found: { parts } }) => {
      const reason = rest.join('/');
      return some(explainTime(reason, (one) => one.state === 'standby' && one.reason === reason, parts));
    },
    oee: ([manner], { found, numbers }) => {
      const oee = numbers.oee.find((one) => one.manner === (manner === 'e79' ? 'SEMI E79' : manner === 'iso22400' ? 'ISO 22400-2' : ''));
      return oee ? explainOee(oee, found.parts, theoreticalParts(found.parts, found.nominal)) : null;
    },
    'cycle-part': ([part, ...recipe], { found: { parts } }) => {
      if (!CYCLE_PARTS.includes(part as CyclePartName)) return null;
      const name = recipe.join('/');
      return some(explainCyclePart(part as CyclePartName, name === '' ? null : name, parts));
    },
    ...Object.fromEntries(SPREAD_TIMES.map((time) => [time, spreadExplainer(time)])),
  }),
);

function spreadExplainer(time: SpreadTime): Explainer {
  return ([percent = '', ...recipe], { found: { parts } }) => {
    const name = recipe.join('/');
    const p = Number(percent);
    if (!Number.isInteger(p) || p < 1 || p > 99) return null;
    const loads = parts.flatMap(({ timed }) => timed.filter(({ run }) => (run.recipe ?? NO_RECIPE) === name && isLoad(run)));
    return explainSpread(time, p, loads);
  };
}

function explainUnexplained({ parts }: FleetWindow): Draft {
  const stops = parts.flatMap(({ intervals, facts }) => untoldStops(intervals, facts.heardUntil));
  const draft = explainTime(
    'unscheduled downtime without a reason',
    (one) => stops.some((stop) => stop.chamber === one.chamber && one.from >= stop.from && one.to <= stop.to),
    parts,
  );
  return { ...draft, formula: 'unscheduled stops longer than a minute that nobody gave a reason for, cut to the window' };
}

const isState = (text: string | undefined): text is EquipmentState => EQUIPMENT_STATES.includes(text as EquipmentState);
/** [XN3] */
const some = (draft: Draft): Draft | null => (draft.madeOf.length > 0 ? draft : null);
