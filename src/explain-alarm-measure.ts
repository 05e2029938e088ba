/**
 * The measures of one alarm, and the mix of priorities, explained from the activations that made them.
 * [XM1] Each measure is that of the alarm page: the value is worked out by the very rule that the page shows.
 */
import type { DelaySetting } from './alarm-answer.ts';
import { chatterIndex, fleetingCount, medianActiveMs } from './alarm-chatter.ts';
import { delayAdvice } from './alarm-delay.ts';
import { activeSpans, type ActiveSpan } from './alarm-spans.ts';
import { unseenOf } from './alarm-stats.ts';
import { MIX_TARGETS } from './alarm-statistics.ts';
import { type Position, positionsOf } from './alarm-targets.ts';
import type { Span } from './calendar.ts';
import { activationsOf, ALARM_SOURCE, alarmEvidence, alarmName, alarmText, shareOfAll } from './explain-alarm.ts';
import { counted, countTerm } from './explain-count.ts';
import { amountText } from './explain-words.ts';
import { type Draft, type Evidence, PLAIN, type Term } from './explanation.ts';
import type { AlarmFact } from './facts.ts';
import type { Part } from './window.ts';

export const ALARM_MEASURES = ['alarm-fleeting', 'alarm-active', 'alarm-index', 'alarm-delay'] as const;
type AlarmMeasure = (typeof ALARM_MEASURES)[number];
type Frame = { readonly parts: readonly Part[]; readonly window: Span };
type Found = {
  readonly name: string;
  readonly spans: readonly ActiveSpan[];
  readonly unseen: readonly Span[];
  readonly fact: AlarmFact;
  readonly all: Evidence[];
};

/** [XM1] `rest`: chamber and code, of a delay its kind and ms before them. Null where the window has no such alarm. */
export function explainMeasure(measure: AlarmMeasure, rest: readonly string[], frame: Frame): Draft | null {
  const isDelay = measure === 'alarm-delay';
  const [chamber = '', ...code] = isDelay ? rest.slice(2) : rest;
  const found = alarmFound(chamber, code.join('/'), frame);
  if (found === null) return null;
  if (isDelay) return delayRemoved(found, rest);
  return measure === 'alarm-index' ? indexOf(found) : measure === 'alarm-fleeting' ? fleetingOf(found) : activeOf(found);
}

function alarmFound(chamber: string, code: string, { parts, window }: Frame): Found | null {
  const part = parts.find(({ facts }) => facts.chamber === chamber);
  const facts = part?.facts.alarmsByCode.get(code) ?? [];
  const fact = facts[0];
  if (part === undefined || fact === undefined) return null;
  const unseen = unseenOf(part.intervals);
  const spans = activeSpans(facts, window, unseen);
  const all = spans.map(({ from, to, isKnown }): Evidence => ({
    ...{ chamber, from, to, state: null, text: alarmText(fact), run: null, amount: null },
    counts: isKnown ? `active ${amountText(to - from, 'ms')}` : `active at least ${amountText(to - from, 'ms')}; its end was not seen`,
  }));
  return spans.length === 0 ? null : { name: alarmName(fact), spans, unseen, fact, all };
}

const single = (words: string, unit: Term['unit'], amount: number, count = amount): Term => ({
  ...{ words, unit, amount },
  parts: amount === 0 ? [] : [{ label: words, state: null, amount, count }],
});

function fleetingOf({ name, spans, all }: Found): Draft {
  return counted(`fleeting activations of ${name}`, single('fleeting activations', 'count', fleetingCount(spans)), {
    formula: 'activations that cleared in under 10 s, unacknowledged, with none of the same alarm within a minute',
    source: ALARM_SOURCE,
    madeOf: all,
  });
}

function activeOf({ name, spans, all }: Found): Draft {
  return {
    ...{ ...PLAIN, words: `median time that ${name} was active`, unit: 'ms', value: medianActiveMs(spans), numerator: null },
    formula: 'median over the activations that were seen from begin to end',
    source: ALARM_SOURCE,
    madeOf: all.map((row, i) => ({ ...row, amount: (spans[i] as ActiveSpan).isKnown ? row.to - row.from : null })),
    madeOfUnit: 'ms',
  };
}

function indexOf({ name, spans, all }: Found): Draft | null {
  const times = spans.map(({ from }) => from);
  const { index } = chatterIndex(times);
  if (index === null) return null;
  const runs = times.length - 1;
  const inverse = times.map((time, i) => (i === 0 ? null : 1000 / Math.max(1000, time - (times[i - 1] as number))));
  return {
    ...{ ...PLAIN, words: `chattering index of ${name}, per second`, unit: 'ratio', value: index },
    formula: 'sum of 1 / seconds between two activations (one second at least) / number of such runs; chattering from 0.05 on',
    base: 'runs between two activations',
    source: 'Kondaveeti and others, Chem. Eng. Res. Des. 91 (2013) 2550, definition from memory',
    numerator: single('sum of 1 / seconds', 'ratio', index * runs, runs),
    denominator: single('runs', 'count', runs),
    madeOf: all.map((row, i) => ({ ...row, amount: inverse[i] ?? null })),
    madeOfUnit: 'ratio',
  };
}

function delayRemoved({ name, spans, unseen, fact, all }: Found, [kind, ms]: readonly string[]): Draft | null {
  const settings: readonly DelaySetting[] = delayAdvice({ spans, unseen, priority: fact.priority })?.settings ?? [];
  const setting = settings.find((one) => one.kind === kind && String(one.ms) === ms);
  if (setting === undefined) return null;
  const delay = `${setting.kind} of ${amountText(setting.ms, 'ms')}`;
  const cost =
    setting.delayed === 0 ? 'no alarm would have come later' : `${setting.delayed} would have come ${amountText(setting.ms, 'ms')} later`;
  return counted(`activations of ${name} that an ${delay} would have removed`, single('removed', 'count', setting.removed), {
    formula: `${spans.length} activations less the ${setting.left} left when they are replayed with the delay; ${cost}`,
    source: 'in the manner of ISA-18.2 (numbers our own): the activations replayed, none across unobserved time',
    madeOf: all,
  });
}

/** [XM1] Share of one priority in the activations of a position or a chamber. */
export function explainPriority(
  [priority = '', ...name]: readonly string[],
  { parts, window }: Frame,
  positions: readonly Position[],
): Draft | null {
  if (!Object.hasOwn(MIX_TARGETS, priority)) return null;
  const placed = positionsOf(parts, positions).find((one) => one.name === name.join('/'));
  const own = parts.filter(({ facts }) => placed?.chambers.includes(facts.chamber) ?? facts.chamber === name.join('/'));
  if (own.length === 0 && placed === undefined) return null;
  const all = activationsOf(own, window);
  const chosen = all.filter((alarm) => alarm.priority === priority);
  const draft = counted(`activations of ${priority} priority`, countTerm(`of ${priority} priority`, chosen, alarmName), {
    formula: '',
    source: ALARM_SOURCE,
    madeOf: chosen.map(alarmEvidence),
  });
  const target = MIX_TARGETS[priority as keyof typeof MIX_TARGETS];
  const share = shareOfAll(`share of ${priority} priority`, draft, all);
  return {
    ...draft,
    ...share,
    value: all.length > 0 ? share.value : null,
    formula: `activations of ${priority} priority / all activations; target about ${100 * target} %`,
    base: 'all activations',
  };
}
