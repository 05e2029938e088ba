/**
 * What a pattern of drifts points to, in the words of the trade: advice where to look first, not a diagnosis. (Reading key: trade practice and
 * our own model of such chambers; no standard.)
 * [DC1] First part of the pump-down slower: pump speed. Middle part doubled or worse, the first far less: the Roots pump.
 * [DC2] Pressure in plasma or tail up, first part unchanged: gas load (leak, wet load) or the pump's ultimate pressure; an empty run and the rate of
 *       rise tell them apart. With the middle part and the pressure in plasma up by about a fifth or more: the fore-line.
 * [DC3] Pressure in plasma up and neither pump-down nor rate of rise changed: a flow controller that delivers more than it shows. Its own reading cannot
 *       tell, and while no leak test has told it may as well be a leak, which is named first.
 * [DC4] Reflected power up: match or electrode. Energy down without it: generator or pauses. Ignition slower: electrode, pressure, match preset.
 * [DC5] Flow zero, flow against set point, vent and purge each point at their own part.
 * [DC6] Every cause comes with what speaks for it, what against, and what is not known and would tell. A cause is dropped when a thing it cannot do
 *       without is missing or contradicted, or when as much speaks against it as for it; the one for which most has moved comes first.
 * [DC8] A figure that is steady but leans the way a cause has it, by two sigma of its average, speaks neither for nor against: it is not known yet.
 *       What comes once a week at most (leak test, empty run) speaks with a single run beyond 3 sigma.
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
  /** Dropped without it; `if-known`: dropped when contradicted, kept while nobody knows. */
  readonly must?: true | 'if-known';
  /** Supports when it is there; that it is steady says nothing. */
  readonly weak?: true;
  /** Of `same`: not known while its average is beyond its limits, though not surely by a size worth telling. */
  readonly still?: true;
};
type Cause = { readonly cause: string; readonly expects: readonly Expectation[]; readonly firstCheck: string };

const up = (of: SymptomName, more: Omit<Expectation, 'of' | 'is'> = {}): Expectation => ({ of, is: 'up', ...more });
const down = (of: SymptomName, more: Omit<Expectation, 'of' | 'is'> = {}): Expectation => ({ of, is: 'down', ...more });
const moved = (of: SymptomName): Expectation => ({ of, is: 'moved', must: true });
const same = (of: SymptomName, more: Omit<Expectation, 'of' | 'is'> = {}): Expectation => ({ of, is: 'same', ...more });
const MUST = { must: true } as const;
const IF_KNOWN = { must: 'if-known' } as const;
const WEAK = { weak: true } as const;
/** May be there, and little of it; more speaks for something else. */
const LITTLE = { weak: true, must: 'if-known' } as const;
const RARE: readonly SymptomName[] = ['rate-of-rise', 'empty-tail'];
const LEANS = 2;
const FAR = 3;

const CAUSES: readonly Cause[] = [
  {
    cause: 'Roots pump not turning or slipping',
    expects: [
      up('pump-down-middle', { from: 1, ...MUST }),
      up('pump-down-first', { under: 0.5, ...IF_KNOWN }),
      up('pump-down-tail'),
      up('plasma-pressure', { from: 0.5 }),
    ],
    firstCheck: 'Check that the Roots pump turns: belt or coupling, motor, the pressure at which it starts.',
  },
  {
    cause: 'pump speed: worn rotary pump, slipping belt or blocked inlet screen',
    expects: [up('pump-down-first', MUST), up('pump-down-middle', { under: 1.5, ...WEAK }), up('plasma-pressure')],
    firstCheck: 'Check the belt, the inlet screen and the oil level of the rotary pump.',
  },
  {
    cause: 'fore-line narrowed or its valve not fully open',
    expects: [
      same('pump-down-first', MUST),
      up('pump-down-middle', { from: 0.18, under: 1, ...MUST }),
      up('plasma-pressure', { from: 0.18, ...IF_KNOWN }),
      up('pump-down-tail', WEAK),
    ],
    firstCheck: 'Check the fore-line for residue and the chamber valve for full travel.',
  },
  {
    cause: 'leak',
    expects: [
      same('pump-down-first', MUST),
      up('pump-down-middle', { under: 0.25, ...LITTLE }),
      up('rate-of-rise', IF_KNOWN),
      up('plasma-pressure', WEAK),
      up('empty-tail', WEAK),
      up('pump-down-tail', WEAK),
      up('base-pressure', WEAK),
    ],
    firstCheck: 'Check with a leak test: a straight rise is a leak. Then the door seal, feedthroughs and the vent valve seat.',
  },
  {
    cause: 'ultimate pressure of the pump',
    expects: [
      same('pump-down-first', MUST),
      same('pump-down-middle', IF_KNOWN),
      up('empty-tail', IF_KNOWN),
      same('rate-of-rise', IF_KNOWN),
      up('plasma-pressure'),
      up('pump-down-tail', WEAK),
      up('base-pressure', WEAK),
    ],
    firstCheck: 'Check the pump against its blank-off pressure: condition of oil and vanes.',
  },
  {
    cause: 'wet load or outgassing fixtures',
    expects: [
      same('pump-down-first', MUST),
      up('pump-down-tail', MUST),
      up('pump-down-middle', { under: 0.25, ...LITTLE }),
      same('empty-tail', IF_KNOWN),
      same('rate-of-rise', IF_KNOWN),
      up('plasma-pressure', { under: 0.1, ...WEAK }),
    ],
    firstCheck: 'Check how the boards were dried and stored, and compare with an empty run.',
  },
  {
    cause: 'flow controller delivering more than it shows',
    expects: [
      up('plasma-pressure', MUST),
      same('pump-down-first', MUST),
      same('pump-down-middle', IF_KNOWN),
      same('pump-down-tail', IF_KNOWN),
      same('empty-tail', IF_KNOWN),
      same('rate-of-rise', IF_KNOWN),
      same('flow-deviation', WEAK),
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
    expects: [up('reflected-fraction', MUST), down('delivered-energy', WEAK), up('ignition-delay', WEAK)],
    firstCheck: 'Check the match positions in plasma, the strap and the electrode contact.',
  },
  {
    cause: 'generator folding back, or pauses in plasma',
    expects: [down('delivered-energy', MUST), same('reflected-fraction', { still: true, ...MUST })],
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
  return name === 'empty-tail'
    ? { ...DRIFT_MEASURES['pump-down-tail'], name: 'tail of an empty pump-down', leastSpread: 0.05 }
    : DRIFT_MEASURES[name];
}

/** [DC6] None when nothing has shifted, or when nothing fits. */
export function likelyCauses(symptoms: Symptoms, measure: MeasureOf = measureOf): readonly LikelyCause[] {
  return CAUSES.flatMap((cause) => weighed(cause, symptoms, measure) ?? [])
    .filter(({ evidence, against }) => evidence.length > against.length)
    .toSorted((a, b) => support(b) - support(a))
    .map(({ moved: _, ...cause }) => cause);
}

type Weighed = LikelyCause & { readonly moved: number };
const support = ({ moved, against }: Weighed): number => moved - 2 * against.length;

/** [DC6] [DC8] Null when the cause is dropped, or nothing that has shifted speaks for it. */
function weighed({ cause, expects, firstCheck }: Cause, symptoms: Symptoms, measure: MeasureOf): Weighed | null {
  const found = expects.map((each) => ({ ...each, met: isMet(each, symptoms[each.of]) }));
  if (found.some(({ must, met }) => (must === true && met !== true) || (must === 'if-known' && met === false))) return null;
  const moved = found.filter(({ is, met }) => is !== 'same' && met === true).length;
  if (moved === 0) return null;
  const told = (wanted: boolean): readonly string[] =>
    found.filter(({ met }) => met === wanted).map(({ of }) => sentence(measure(of), symptoms[of]));
  const open = found.filter(({ met, weak }) => met === null && weak !== true).map(({ of }) => notYet(measure(of).name, symptoms[of]));
  return { cause, evidence: told(true), against: told(false), open, firstCheck, moved };
}

/** Null when nobody knows, or when it says nothing. An odd run is neither a shift nor none, but of what comes rarely it is one. */
function isMet(expected: Expectation, verdict: DriftVerdict | undefined): boolean | null {
  if (verdict === undefined || verdict.state === 'learning') return null;
  if (verdict.state === 'steady') return isMetSteady(expected, verdict.lean);
  if (verdict.state === 'odd-run' && !RARE.includes(expected.of)) return null;
  const { is, from = 0, under = Infinity } = expected;
  const { change, changeShare } = verdict;
  if (is === 'same' || is === 'moved') return is === 'moved';
  if (is === 'down') return change < 0;
  return change > 0 && (changeShare ?? Infinity) >= from && (under === Infinity || (changeShare ?? Infinity) < under);
}

/** [DC8] */
function isMetSteady({ is, weak, still }: Expectation, lean: number): boolean | null {
  if (is === 'same') return still === true && Math.abs(lean) >= FAR ? null : true;
  const way = is === 'down' ? -lean : is === 'moved' ? Math.abs(lean) : lean;
  return weak === true || way >= LEANS ? null : false;
}

/** [DC8] */
function notYet(name: string, verdict: DriftVerdict | undefined): string {
  if (verdict?.state !== 'steady') return name;
  return `${name} (leans ${verdict.lean > 0 ? 'up' : 'down'}, not sure yet)`;
}

function sentence(measure: DriftMeasure, verdict: DriftVerdict | undefined): string {
  return verdict?.state === 'shifted' || verdict?.state === 'odd-run'
    ? driftSentence(measure, verdict)
    : `${measure.name[0]?.toUpperCase()}${measure.name.slice(1)} unchanged.`;
}
