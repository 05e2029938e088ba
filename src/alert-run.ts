/**
 * Runs that did not keep to their limits, and gas where none may be: what a process engineer must hear of.
 * [PK1] A completed product run with a deviation of those the site file tells opens an alert, one for all its deviations. Runs that go on deviating
 *       are counted in it; the chamber's next run within its limits ends it. One whose only deviation is energy by less than three points more
 *       than the limit is told with the second such run in a row: a limit crossed by less than what is sure of it is no news.
 * [PK2] Aborted, interrupted and engineering runs are not told: what stopped them is. Neither is a run not fully observed for that alone.
 * [PK3] A purge too short, a vent with the pump valve open and gas with the door open are told at once, in any run and at any hour, with high
 *       severity; a purge that the run's record finds short as well is the same alert. A later run ends it: the record of a run that was cut
 *       short may not have seen what was told during it.
 */
import { ended, momentWords, newAlert } from './alert-form.ts';
import type { Alert } from './contract.ts';
import type { EventOf } from './event.ts';
import type { Deviation, DeviationCode, RunRecord } from './run-facts.ts';
import type { WatchRules } from './watch-rules.ts';

type Slot = 'limits' | 'safety';
/** `last`: the run that was outside its limits last. */
type Open = { readonly alert: Alert; readonly runs: number; readonly last?: string | null };
type Checked = {
  readonly last: Pick<EventOf<'run-ended'>, 'run' | 'outcome' | 'engineering' | 'recipe' | 'load'> | null;
  readonly alerts: Readonly<Partial<Record<Slot, Open>>>;
  /** The last run deviated by too little to be told alone. */
  readonly slight?: boolean;
};
/** By chamber. */
export type CheckedRuns = Readonly<Record<string, Checked>>;
type RunNews = { readonly runs: CheckedRuns; readonly alerts: readonly Alert[] };

const FRESH: Checked = { last: null, alerts: {} };
const FINDINGS = ['purge-short', 'vent-with-pump-valve-open', 'gas-with-door-open'];

export function checkOnEnd(runs: CheckedRuns, { chamber, run, outcome, engineering, recipe, load }: EventOf<'run-ended'>): RunNews {
  const known = runs[chamber] ?? FRESH;
  return { runs: { ...runs, [chamber]: { ...known, last: { run, outcome, engineering, recipe, load } } }, alerts: [] };
}

/** [PK3] */
export function checkOnFinding(rules: WatchRules, runs: CheckedRuns, event: EventOf<'finding'>): RunNews {
  if (!FINDINGS.includes(event.code)) return { runs, alerts: [] };
  const { chamber, at, text, run } = event;
  const known = runs[chamber] ?? FRESH;
  return told(rules, { runs, chamber, at, slot: 'safety', known }, { texts: [text], codes: [event.code], load: null, recipe: null, run });
}

/** [PK1] [PK2] */
export function checkOnRecord(rules: WatchRules, runs: CheckedRuns, { chamber, at, run, record }: EventOf<'run-record'>): RunNews {
  const known = runs[chamber] ?? FRESH;
  const ran = known.last?.run === run ? known.last : null;
  const wanted: readonly DeviationCode[] = rules.settings['process-check'].deviations;
  const isProduct = ran !== null && ran.outcome === 'completed' && !ran.engineering;
  const safety = record.deviations.filter(({ code }) => code === 'purge-short' && wanted.includes(code));
  const limits = isProduct ? record.deviations.filter(({ code }) => code !== 'purge-short' && wanted.includes(code)) : [];
  let news: RunNews = { runs, alerts: [] };
  for (const [slot, found] of [
    ['safety', safety],
    ['limits', limits],
  ] as const) {
    const place = { runs: news.runs, chamber, at, slot, known: news.runs[chamber] ?? FRESH };
    const what = {
      texts: found.map(({ text }) => text),
      codes: found.map(({ code }) => code),
      load: ran?.load ?? null,
      recipe: ran?.recipe ?? null,
      run,
    };
    const isOver = found.length === 0 && (slot === 'safety' ? place.known.alerts.safety?.last !== run : isProduct);
    const isNews =
      found.length > 0 && !(slot === 'limits' && isSlight(found, record) && known.slight !== true && known.alerts.limits === undefined);
    const step = isNews ? told(rules, place, what) : isOver ? within(place) : { runs: news.runs, alerts: [] };
    news = { runs: step.runs, alerts: [...news.alerts, ...step.alerts] };
  }
  if (!isProduct) return news;
  const checked = news.runs[chamber] ?? FRESH;
  return { ...news, runs: { ...news.runs, [chamber]: { ...checked, slight: limits.length > 0 && isSlight(limits, record) } } };
}

const LEAST_ENERGY = 0.97 - 0.03;
const MOST_ENERGY = 1.03 + 0.03;

/** [PK1] Energy over nominal includes the ramp, which makes it up to two points less than what the limit is held against. */
function isSlight(found: readonly Deviation[], { energyJ, nominalEnergyJ }: RunRecord): boolean {
  if (energyJ === null || nominalEnergyJ === null || nominalEnergyJ <= 0) return false;
  const share = energyJ / nominalEnergyJ;
  return share > LEAST_ENERGY && share < MOST_ENERGY && found.every(({ code }) => code === 'energy-low' || code === 'energy-high');
}

type Place = { readonly runs: CheckedRuns; readonly chamber: string; readonly at: number; readonly slot: Slot; readonly known: Checked };
type What = {
  readonly texts: readonly string[];
  readonly codes: readonly string[];
  readonly load: string | null;
  readonly recipe: string | null;
  readonly run: string | null;
};

function told(rules: WatchRules, place: Place, what: What): RunNews {
  const { chamber, at, slot, known } = place;
  const open = known.alerts[slot];
  if (open === undefined) {
    if (!rules.settings['process-check'].on) return { runs: place.runs, alerts: [] };
    const alert = checkAlert(rules, place, what);
    return { runs: put(place, { alert, runs: 1, last: what.run }), alerts: [alert] };
  }
  const again = what.run !== null && open.last === what.run;
  const runs = again ? open.runs : open.runs + 1;
  const facts = [
    ...open.alert.facts.filter(({ label }) => !(label === 'Runs since')),
    { label: 'Runs since', value: `${runs}, the last ${momentWords(at, rules.calendar.zone)}` },
  ];
  const alert = { ...open.alert, updatedAt: Math.max(at, open.alert.updatedAt), headline: headlineOf(chamber, what, runs), facts };
  return { runs: put(place, { alert, runs, last: what.run }), alerts: [alert] };
}

/** [PK1] */
function within(place: Place): RunNews {
  const { chamber, at, slot, known, runs } = place;
  const open = known.alerts[slot];
  if (open === undefined) return { runs, alerts: [] };
  const { [slot]: _, ...alerts } = known.alerts;
  const count = open.runs === 1 ? 'one run' : `${open.runs} runs`;
  return {
    runs: { ...runs, [chamber]: { ...known, alerts } },
    alerts: [
      ended(open.alert, at, {
        headline: `${chamber}: over. The last run kept its limits, after ${count} that did not${whatOf(open.alert)}.`,
      }),
    ],
  };
}

/** What the first of them was, for whoever reads only of the end. */
function whatOf({ facts }: Alert): string {
  const first = facts.find(({ label }) => label === OUTSIDE);
  return first === undefined ? '' : `: ${clause(first.value)}`;
}

const OUTSIDE = 'Outside limits';
const clause = (sentence: string): string => sentence.replace(/\.$/, '');

const put = ({ runs, chamber, known, slot }: Place, open: Open): CheckedRuns => ({
  ...runs,
  [chamber]: { ...known, alerts: { ...known.alerts, [slot]: open } },
});

function checkAlert(rules: WatchRules, { chamber, at, slot }: Place, what: What): Alert {
  const { severity } = rules.settings['process-check'];
  const maybe = (label: string, value: string | null): Alert['facts'] => (value === null ? [] : [{ label, value }]);
  return newAlert({
    ...{ kind: 'process-check', subject: slot === 'safety' ? `${chamber} ${what.codes[0] ?? ''}` : chamber, at, chamber },
    severity: slot === 'safety' ? 'high' : severity,
    headline: headlineOf(chamber, what, 1),
    rule: `limits of the run record (${what.codes.join(', ')}); alerts.rules.process-check`,
    cure: cureOf(what.codes),
    facts: [
      ...maybe('Run', what.run),
      ...maybe('Recipe', what.recipe),
      ...maybe('Load', what.load),
      ...what.texts.map((value) => ({ label: OUTSIDE, value })),
    ],
  });
}

function headlineOf(chamber: string, { texts, recipe }: What, runs: number): string {
  const many = runs > 1 ? `${runs} runs` : 'a run';
  const more = texts.length > 1 ? `, and ${texts.length - 1} more` : '';
  return `${chamber}: ${many}${recipe === null ? '' : ` of ${recipe}`} outside limits: ${clause(texts[0] ?? '')}${more}.`;
}

/** Check, never bridge, open or reset. */
const CURES: Readonly<Record<string, string>> = {
  'purge-short':
    'Check with whoever opens the chamber next: fluorine compounds may be left. The gas detectors and interlocks decide, not this page.',
  'vent-with-pump-valve-open': 'Check the pump and its oil before the next run, and why the valve stayed open.',
  'gas-with-door-open': 'Keep away and check with the gas detectors. The interlock is what protects; this page only tells.',
  'energy-low': 'Hold the load and check its treatment. Then match and reflected power, and pauses in plasma.',
  'energy-high': 'Check the power set point and the step times as executed against the master recipe.',
  'step-short': 'Check the step times as executed against the master recipe.',
  'flow-out-of-band': 'Check the supply pressure and the filter before that flow controller.',
  'power-out-of-band': 'Check the generator against its set point: foldback, temperature, mains.',
  'reflected-high': 'Check the match, its strap and the electrode contact.',
};
const cureOf = (codes: readonly string[]): string | null =>
  codes.flatMap((code) => CURES[code] ?? [])[0] ?? 'Read the run’s record, and decide on the load.';
