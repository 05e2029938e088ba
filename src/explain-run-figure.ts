/**
 * The figures of a run explained, each by the rule that made it and over the stretches in which it was measured.
 * [XR5] Every figure of run-figure.ts and every total of the record has a rule here; the list is closed by a test.
 */
import type { RunEnded } from './event.ts';
import { stretchesOf } from './explain-run-stretch.ts';
import { amountText } from './explain-words.ts';
import { type AmountUnit, type Draft, PLAIN, type Term } from './explanation.ts';
import type { RecordStretch, RunRecord } from './run-facts.ts';
import { runFigures } from './run-figure.ts';

const TRADE = 'trade practice, no source';
const RATIO = 'textbook: VSWR = (1 + sqrt r) / (1 - sqrt r), r the reflected fraction';
/** [XR5] In which phases it is measured, how, whence the rule, and what is left out on purpose. */
type Rule = { readonly over: readonly string[]; readonly formula: string; readonly source: string; readonly but?: string };

const PUMP = { over: ['pump-down'], source: `marks 1.9 and 0.3 Torr: ${TRADE}` };
const RF = { over: ['plasma'], source: `thresholds: ${TRADE}` };
const RULES: Readonly<Record<string, Rule>> = {
  'pump-down': { ...PUMP, formula: 'pump-down start until the sequence went on; the sum of its three parts' },
  'pump-down-first': { ...PUMP, formula: 'pump-down start until pressure first fell to 1.9 Torr' },
  'pump-down-middle': { ...PUMP, formula: 'from 1.9 until pressure first fell to 0.3 Torr' },
  'pump-down-tail': { ...PUMP, formula: 'from 0.3 Torr until the sequence went on' },
  'base-pressure': { over: ['pump-down'], formula: 'least pressure before gas came; a hole refuses it', source: TRADE },
  'plasma-pressure': {
    over: ['plasma'],
    formula: 'median of pressure over the longest plasma step',
    source: TRADE,
    but: 'the first 15 s of the step, while pressure settles',
  },
  'rate-of-rise': {
    over: ['leak-test'],
    formula: 'slope of a straight line through the pressure of the isolated chamber',
    source: 'Q = V dp/dt, textbook',
    but: 'the first 60 s of the test',
  },
  'ignition-delay': { ...RF, formula: 'from the first call for RF until reflected power stayed under 30 % of forward for 1 s' },
  'delivered-energy': {
    over: ['plasma'],
    formula: 'integral over plasma of forward less reflected power, at the generator; a hole refuses it',
    source: 'energy is power over time; it says nothing about etch',
  },
  'known-energy': {
    over: ['plasma'],
    formula: 'integral over the observed part of plasma of forward less reflected power',
    source: 'energy is power over time',
  },
  'set-energy': { over: ['plasma'], formula: 'integral of the set power over each step, from its first call for RF on', source: TRADE },
  'energy-share': { over: ['plasma'], formula: 'delivered RF energy / set energy', source: TRADE },
  'reflected-fraction': {
    ...RF,
    formula: 'reflected / forward energy in plasma',
    but: 'the first 15 s after each ignition, while the match moves',
  },
  vswr: { ...RF, formula: '(1 + sqrt r) / (1 - sqrt r)', source: RATIO, but: 'the first 15 s after each ignition, while the match moves' },
  dropouts: {
    ...RF,
    formula: 'times plasma was gone for more than 0.5 s in a step in which it had burned; shorter ones are missed: at least so many',
  },
  'gas-before-rf': { over: ['gas-stabilisation'], formula: 'time of gas stabilisation before the first plasma', source: TRADE },
  gas: {
    over: [],
    formula: 'integral of flow while the valve of the line was open, as standard litres at 0 °C',
    source: 'amount of substance, SI',
  },
  time: {
    over: [],
    formula: 'sum of the stretches of this phase and step; one whose begin or end nobody saw refuses it',
    source: 'phases by the rules of phase.ts',
  },
  mean: {
    over: [],
    formula: 'time-weighted mean over the step of what had settled and was observed',
    source: TRADE,
    but: '5 s after a change of set point',
  },
};

/** Where a figure is compared with others. */
const USUAL = [
  ['usual', 'usual in this chamber'],
  ['sisters', 'usual in sister chambers'],
] as const;

type Found = { readonly words: string; readonly unit: AmountUnit; readonly value: number | null };

/** [XR5] Null for a figure that this run does not have. */
export function explainRunFigure(name: string, run: RunEnded, record: RunRecord): Draft | null {
  const found = figureOf(name, run, record);
  if (!found) return null;
  const rule = RULES[ruleOf(name)] as Rule;
  const spans = measuredOver(name, run, rule);
  const unseen = run.at - run.startedAt - run.observedMs;
  const isCompared = runFigures({ run, record }).some((figure) => figure.name === name);
  return {
    ...PLAIN,
    ...found,
    formula: rule.formula,
    base: name === 'energy-share' ? 'set energy' : null,
    source: rule.source,
    ...termsOf(name, found, record),
    excluded: [
      ...(rule.but ? [{ label: 'settling', ms: null, why: rule.but }] : []),
      ...(unseen > 0 ? [{ label: 'unobserved', ms: unseen, why: 'of the run; a hole where the figure is measured refuses it' }] : []),
    ],
    madeOf: stretchesOf(run, spans),
    madeOfUnit: 'ms',
    also: isCompared ? USUAL.map(([kind, words]) => ({ number: `${kind}/${name}`, words })) : [],
  };
}

const ruleOf = (name: string): string =>
  name.startsWith('time/') ? 'time' : name.startsWith('gas-total/') ? 'gas' : isStepMean(name) ? 'mean' : name;
const isStepMean = (name: string): boolean => /^(gas\.\d\.flow|rf\.forward)\//.test(name);

function isMeasured(name: string, { phase, step }: Pick<RecordStretch, 'phase' | 'step'>, { over }: Rule): boolean {
  if (name.startsWith('time/')) return name === `time/${phase}/${step ?? ''}`;
  if (isStepMean(name)) return phase === 'plasma' && name.endsWith(`/${step ?? ''}`);
  if (name.startsWith('gas-total/')) return ['gas-stabilisation', 'plasma', 'hold', 'purge'].includes(phase);
  return over.includes(phase);
}

/** Pressure in plasma is of the longest step alone. */
function measuredOver(name: string, { phases }: RunEnded, rule: Rule): RunEnded['phases'] {
  const spans = phases.filter((span) => isMeasured(name, span, rule));
  if (name !== 'plasma-pressure') return spans;
  return spans.toSorted((a, b) => b.to - b.from - (a.to - a.from)).slice(0, 1);
}

function figureOf(name: string, run: RunEnded, record: RunRecord): Found | null {
  const own = runFigures({ run, record }).find((figure) => figure.name === name);
  if (own) return { words: own.words, unit: own.unit === '1' ? 'share' : own.unit, value: own.value };
  const { energyJ, nominalEnergyJ } = record;
  const seconds = record.stabilisationMs === null ? null : record.stabilisationMs / 1000;
  const gas = record.gases.find(({ line }) => name === `gas-total/${line}`);
  if (gas) return { words: `${gas.kind}${gas.mol === null ? ', as far as it was seen' : ''}`, unit: 'mol', value: gas.mol ?? gas.knownMol };
  const others: Readonly<Record<string, Found>> = {
    'known-energy': { words: 'RF energy seen', unit: 'J', value: record.energyKnownJ },
    'set-energy': { words: 'set RF energy', unit: 'J', value: nominalEnergyJ },
    'energy-share': {
      words: 'delivered part of the set RF energy',
      unit: 'share',
      value: energyJ === null || !nominalEnergyJ ? null : energyJ / nominalEnergyJ,
    },
    vswr: { words: 'standing wave ratio', unit: 'ratio', value: record.vswr },
    dropouts: { words: 'RF dropouts', unit: 'count', value: record.rfDropouts },
    'gas-before-rf': { words: 'gas before RF', unit: 's', value: seconds },
  };
  return Object.hasOwn(others, name) ? (others[name] as Found) : null;
}

/** Sums and quotients show their terms; what was measured shows over what. */
function termsOf(
  name: string,
  { value, words }: Found,
  record: RunRecord,
): Pick<Draft, 'numerator' | 'denominator' | 'worked'> & Partial<Draft> {
  const none = { numerator: null, denominator: null };
  if (value === null) return none;
  if (name === 'pump-down') return pumpDownTerms(words, value, record);
  if (name === 'energy-share')
    return { numerator: single('delivered', 'J', record.energyJ ?? 0), denominator: single('set', 'J', record.nominalEnergyJ ?? 0) };
  if (name === 'vswr' && record.reflectedFraction !== null) {
    const r = amountText(record.reflectedFraction, 'share');
    return { ...none, worked: `(1 + sqrt ${r}) / (1 - sqrt ${r})  =  ${amountText(value, 'ratio')}` };
  }
  return isStepMean(name) ? meanTerms(name, record) : none;
}

const single = (words: string, unit: AmountUnit, amount: number): Term => ({
  ...{ words, unit, amount },
  parts: [{ label: words, state: null, amount, count: 1 }],
});

function pumpDownTerms(words: string, value: number, { pumpDown }: RunRecord): Pick<Draft, 'numerator' | 'denominator'> {
  const parts = [
    ['to 1.9 Torr', pumpDown.firstMs],
    ['1.9 to 0.3 Torr', pumpDown.middleMs],
    ['below 0.3 Torr', pumpDown.tailMs],
  ] as const;
  const known = parts.flatMap(([label, ms]) => (ms === null ? [] : [{ label, state: null, amount: ms / 1000, count: 1 }]));
  return {
    numerator: known.length === 3 ? { words, unit: 's', amount: value, parts: known } : single(words, 's', value),
    denominator: null,
  };
}

/** Power over time is energy, flow over time an amount: their sums over the stretches of a step, over its observed time. */
function meanTerms(name: string, { stretches }: RunRecord): Pick<Draft, 'numerator' | 'denominator'> {
  const [signal = '', step = ''] = name.split('/');
  const known = stretches
    .filter((stretch) => stretch.phase === 'plasma' && String(stretch.step ?? '') === step)
    .flatMap(({ quantities }) => quantities.filter((one) => one.signal === signal && one.mean !== null));
  const unit = signal === 'rf.forward' ? 'J' : 'mol';
  const sum = (of: (one: (typeof known)[number]) => number): number => known.reduce((total, one) => total + of(one), 0);
  return {
    numerator: single(
      'mean x observed time',
      unit,
      sum(({ mean, knownMs }) => ((mean as number) * knownMs) / 1000),
    ),
    denominator: single(
      'observed time',
      's',
      sum(({ knownMs }) => knownMs / 1000),
    ),
  };
}
