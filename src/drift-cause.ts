/**
 * What a pattern of drifts points to, in the words of the trade: advice where to look first, not a diagnosis. (Reading key: trade practice and
 * our own model of such chambers; no standard.)
 * [DC1] First part of the pump-down slower: pump speed. Middle part doubled or worse: the Roots pump.
 * [DC2] Tail slower, first part unchanged: gas load (leak, wet load) or the pump's ultimate pressure; an empty run and the rate of rise tell them
 *       apart. With the middle part and the pressure in plasma up by about a fifth or more: the fore-line.
 * [DC3] Pressure in plasma up and the pump-down unchanged: a flow controller that delivers more than it shows. Its own reading cannot tell.
 * [DC4] Reflected power up: match or electrode. Energy down without it: generator or pauses. Ignition slower: electrode, pressure, match preset.
 * [DC5] Flow zero, flow against set point, vent and purge each point at their own part.
 * [DC6] Every cause comes with what speaks for it, what against, and what is not known and would tell. A cause is dropped when a thing it cannot do
 *       without is missing or contradicted, or when as much speaks against it as for it; the best supported comes first.
 * [DC7] Texts say "check". They never tell anyone to open, bridge or reset anything, nor to change oil or a recipe.
 */
import type { DriftVerdict } from './drift.ts';
import { driftSentence } from './drift.ts';
import type { DriftMeasure, DriftMeasureName } from './drift-measure.ts';
import { DRIFT_MEASURES } from './drift-measure.ts';

/** The figures of one chamber and recipe; `empty-tail` is the pump-down's tail in runs without a load. */
export type SymptomName = DriftMeasureName | 'empty-tail';
export type Symptoms = Readonly<Partial<Record<SymptomName, DriftVerdict>>>;
/** How a figure is named and sized, in the units of the site. */
export type MeasureOf = (name: SymptomName) => DriftMeasure;
export type LikelyCause = {
  readonly cause: string;
  readonly evidence: readonly string[];
  readonly against: readonly string[];
  /** Names of what was not measured and would tell. */
  readonly open: readonly string[];
  readonly firstCheck: string;
};

type Expectation = {
  readonly of: SymptomName;
  readonly is: 'up' | 'down' | 'moved' | 'same';
  /** Share of the usual that an `up` must reach, and must stay under. */
  readonly from?: number;
  readonly under?: number;
  readonly must?: true;
};
type Cause = { readonly cause: string; readonly expects: readonly Expectation[]; readonly firstCheck: string };

const up = (of: SymptomName, more: Omit<Expectation, 'of' | 'is'> = {}): Expectation => ({ of, is: 'up', ...more });
const down = (of: SymptomName, more: Omit<Expectation, 'of' | 'is'> = {}): Expectation => ({ of, is: 'down', ...more });
const moved = (of: SymptomName): Expectation => ({ of, is: 'moved', must: true });
const same = (of: SymptomName, more: Omit<Expectation, 'of' | 'is'> = {}): Expectation => ({ of, is: 'same', ...more });
const MUST = { must: true } as const;

const CAUSES: readonly Cause[] = [
  {
    cause: 'Roots pump not turning or slipping',
    expects: [
      up('pump-down-middle', { from: 1, ...MUST }),
      up('pump-down-first'),
      up('pump-down-tail'),
      up('plasma-pressure', { from: 0.5 }),
    ],
    firstCheck: 'Check that the Roots pump turns: belt or coupling, motor, the pressure at which it starts.',
  },
  {
    cause: 'pump speed: worn rotary pump, slipping belt or blocked inlet screen',
    expects: [up('pump-down-first', MUST), up('pump-down-middle', { under: 1 }), up('plasma-pressure')],
    firstCheck: 'Check the belt, the inlet screen and the oil level of the rotary pump.',
  },
  {
    cause: 'fore-line narrowed or its valve not fully open',
    expects: [
      same('pump-down-first', MUST),
      up('pump-down-middle', { from: 0.18, under: 1, ...MUST }),
      up('plasma-pressure', { from: 0.18, ...MUST }),
      up('pump-down-tail'),
    ],
    firstCheck: 'Check the fore-line for residue and the chamber valve for full travel.',
  },
  {
    cause: 'leak',
    expects: [
      same('pump-down-first', MUST),
      up('plasma-pressure'),
      up('pump-down-tail'),
      up('empty-tail'),
      up('rate-of-rise'),
      up('base-pressure'),
    ],
    firstCheck: 'Check with a leak test: a straight rise is a leak. Then the door seal, feedthroughs and the vent valve seat.',
  },
  {
    cause: 'wet load or outgassing fixtures',
    expects: [same('pump-down-first', MUST), up('pump-down-tail', MUST), same('empty-tail'), same('rate-of-rise')],
    firstCheck: 'Check how the boards were dried and stored, and compare with an empty run.',
  },
  {
    cause: 'ultimate pressure of the pump',
    expects: [
      same('pump-down-first', MUST),
      up('pump-down-tail', MUST),
      up('base-pressure'),
      same('rate-of-rise'),
      up('empty-tail'),
      up('plasma-pressure'),
    ],
    firstCheck: 'Check the pump against its blank-off pressure: condition of oil and vanes.',
  },
  {
    cause: 'flow controller delivering more than it shows',
    expects: [
      up('plasma-pressure', MUST),
      same('pump-down-first', MUST),
      same('pump-down-tail', MUST),
      same('rate-of-rise'),
      same('flow-deviation'),
    ],
    firstCheck: 'Check each flow controller against a reference: its own reading cannot show this.',
  },
  {
    cause: 'flow controller zero',
    expects: [moved('flow-zero')],
    firstCheck: 'Check the zero with the gas valve shut and the chamber evacuated.',
  },
  {
    cause: 'gas supply low or flow controller clogged',
    expects: [down('flow-deviation', MUST), down('plasma-pressure')],
    firstCheck: 'Check the supply pressure and the filter before the flow controller.',
  },
  {
    cause: 'match network or electrode connection',
    expects: [up('reflected-fraction', MUST), down('delivered-energy'), up('ignition-delay')],
    firstCheck: 'Check the match positions in plasma, the strap and the electrode contact.',
  },
  {
    cause: 'generator folding back, or pauses in plasma',
    expects: [down('delivered-energy', MUST), same('reflected-fraction', MUST)],
    firstCheck: 'Check forward power against its set point, and the run for dropouts.',
  },
  {
    cause: 'hard ignition: dirty electrode, pressure at ignition or match preset',
    expects: [up('ignition-delay', MUST), same('reflected-fraction')],
    firstCheck: 'Check the electrode for residue and the match preset against a sister chamber.',
  },
  {
    cause: 'vent gas: low supply or a clogged vent filter',
    expects: [up('vent', MUST)],
    firstCheck: 'Check the nitrogen pressure at the chamber and the vent filter.',
  },
  {
    cause: 'purge time changed: controller timer or recipe as executed',
    expects: [moved('purge')],
    firstCheck: 'Check the purge time as executed against the master recipe.',
  },
];

/** The tail of an empty pump-down is measured as any tail. */
export function measureOf(name: SymptomName): DriftMeasure {
  return name === 'empty-tail' ? { ...DRIFT_MEASURES['pump-down-tail'], name: 'tail of an empty pump-down' } : DRIFT_MEASURES[name];
}

/** [DC6] None when nothing has shifted, or when nothing fits. */
export function likelyCauses(symptoms: Symptoms, measure: MeasureOf = measureOf): readonly LikelyCause[] {
  return CAUSES.flatMap((cause) => weighed(cause, symptoms, measure) ?? [])
    .filter(({ evidence, against }) => evidence.length > against.length)
    .toSorted((a, b) => support(b) - support(a));
}

const support = ({ evidence, against }: LikelyCause): number => evidence.length - 2 * against.length;

/** [DC6] Null when the cause is dropped, or nothing that has shifted speaks for it. */
function weighed({ cause, expects, firstCheck }: Cause, symptoms: Symptoms, measure: MeasureOf): LikelyCause | null {
  const found = expects.map((each) => ({ ...each, met: isMet(each, symptoms[each.of]) }));
  if (found.some(({ must, met }) => must && met !== true)) return null;
  if (!found.some(({ is, met }) => is !== 'same' && met === true)) return null;
  const told = (wanted: boolean): readonly string[] =>
    found.filter(({ met }) => met === wanted).map(({ of }) => sentence(measure(of), symptoms[of]));
  const open = found.filter(({ met }) => met === null).map(({ of }) => measure(of).name);
  return { cause, evidence: told(true), against: told(false), open, firstCheck };
}

/** Null when nobody knows. An odd run is not a shift. */
function isMet({ is, from = 0, under = Infinity }: Expectation, verdict: DriftVerdict | undefined): boolean | null {
  if (verdict === undefined || verdict.state === 'learning') return null;
  if (verdict.state !== 'shifted') return is === 'same';
  const { change, changeShare } = verdict;
  if (is === 'same' || is === 'moved') return is === 'moved';
  if (is === 'down') return change < 0;
  return change > 0 && (changeShare ?? Infinity) >= from && (under === Infinity || (changeShare ?? Infinity) < under);
}

function sentence(measure: DriftMeasure, verdict: DriftVerdict | undefined): string {
  return verdict?.state === 'shifted'
    ? driftSentence(measure, verdict)
    : `${measure.name[0]?.toUpperCase()}${measure.name.slice(1)} unchanged.`;
}
