/** The run page as rows: what was set and measured in each stretch, the figures beside what is usual, totals. */
import { phaseWord } from './format.ts';
import type { RunBand, RunRecordAnswer } from '../src/run-answer.ts';
import type { MeasuredQuantity, RecordStretch } from '../src/run-facts.ts';
import { figureText, quantityText, type SiteUnits } from './run-words.ts';

type StretchRow = {
  readonly signal: string;
  readonly what: string;
  readonly set: string;
  readonly mean: string;
  readonly least: string;
  readonly most: string;
  /** Seconds outside the band; '' where none is judged. */
  readonly out: string;
  readonly isOut: boolean;
  /** Part of the stretch that was seen, where not all was. */
  readonly seen: string;
};
type StretchRows = { readonly name: string; readonly from: number; readonly lasts: number; readonly rows: readonly StretchRow[] };

const SHOWN = ['gas-stabilisation', 'plasma', 'hold', 'leak-test', 'purge'];

/** Stretches in which something was set or had to hold; the others are told by their times. */
export function stretchRows({ record, gases, units }: RunRecordAnswer): readonly StretchRows[] {
  const steps = Math.max(0, ...record.stretches.map(({ step }) => step ?? 0));
  const kinds = new Map(gases.map(({ line, kind }) => [`gas.${line}.flow`, kind]));
  return record.stretches
    .filter(({ phase, quantities }) => SHOWN.includes(phase) && quantities.length > 0)
    .map((stretch) => ({
      name: phaseWord(stretch.phase, stretch.step, steps > 1 ? steps : null),
      from: stretch.from,
      lasts: stretch.to - stretch.from,
      rows: stretch.quantities.map((quantity) => stretchRow(quantity, stretch, { kinds, units })),
    }));
}

type Names = { readonly kinds: ReadonlyMap<string, string>; readonly units: SiteUnits };

function stretchRow(quantity: MeasuredQuantity, { from, to }: RecordStretch, { kinds, units }: Names): StretchRow {
  const { signal, setPoint, mean, min, max, outOfBandMs, knownMs } = quantity;
  const unit = signal === 'chamber.pressure' ? units.pressure : signal.startsWith('rf.') ? 'W' : units.flow;
  const value = (si: number | null): string => quantityText(si, unit).replace(/ [^ ]+$/, '');
  return {
    signal,
    what: `${nameOf(signal, kinds)}, ${unit}`,
    set: setPoint === null ? '' : value(setPoint),
    mean: value(mean),
    least: value(min),
    most: value(max),
    out: outOfBandMs === null ? '' : `${Math.round(outOfBandMs / 1000)} s`,
    isOut: (outOfBandMs ?? 0) > 10_000,
    seen: partText(knownMs, to - from),
  };
}

/** Of the stretch that begins then: what was heard of the signal heard least; '' where all was heard or nothing was measured. */
export function seenText(stretches: readonly RecordStretch[], from: number): string {
  const stretch = stretches.find((one) => one.from === from);
  if (!stretch || stretch.quantities.length === 0) return '';
  return partText(Math.min(...stretch.quantities.map(({ knownMs }) => knownMs)), stretch.to - stretch.from);
}

const partText = (knownMs: number, wholeMs: number): string => (knownMs < wholeMs ? `${Math.floor((100 * knownMs) / wholeMs)} % seen` : '');

function nameOf(signal: string, kinds: Names['kinds']): string {
  if (signal === 'chamber.pressure') return 'pressure';
  if (signal === 'rf.forward') return 'forward power';
  return signal === 'rf.reflected' ? 'reflected power' : `${kinds.get(signal) ?? signal} flow`;
}

type FigureGroup = { readonly title: string; readonly bands: readonly RunBand[] };

/** In the order in which a run goes. */
export function figureGroups(bands: readonly RunBand[]): readonly FigureGroup[] {
  const groups: readonly (readonly [string, (name: string) => boolean])[] = [
    ['Vacuum', (name) => name.startsWith('pump-down') || /^(base-pressure|plasma-pressure|rate-of-rise)$/.test(name)],
    ['RF', (name) => /^(ignition-delay|delivered-energy|reflected-fraction|rf\.)/.test(name)],
    ['Gas', (name) => name.startsWith('gas.')],
    ['Times', (name) => name.startsWith('time/')],
  ];
  return groups
    .map(([title, isIn]) => ({ title, bands: bands.filter(({ name }) => isIn(name)) }))
    .filter(({ bands: own }) => own.length > 0);
}

type AlarmLine = {
  readonly code: string;
  readonly text: string;
  readonly priority: string;
  readonly first: number;
  readonly last: number;
  readonly times: number;
};

/** An alarm that came again and again is one line. */
export function alarmLines(alarms: RunRecordAnswer['record']['alarms']): readonly AlarmLine[] {
  return [...Map.groupBy(alarms, ({ code }) => code).values()].map((same) => ({
    code: same[0]!.code,
    text: same[0]!.text,
    priority: same[0]!.priority,
    first: same[0]!.at,
    last: same.at(-1)!.at,
    times: same.length,
  }));
}

/** Places 0..1 on one scale for both bands and this run; null where there is nothing to compare with. */
export type RangeMark = {
  readonly own: readonly [from: number, median: number, to: number] | null;
  readonly sisters: readonly [from: number, median: number, to: number] | null;
  readonly run: number | null;
};

const MARGIN = 0.1;

export function rangeMark({ value, own, sisters }: RunBand): RangeMark | null {
  const ends = [own, sisters].flatMap(({ p10, p90 }) => (p10 === null || p90 === null ? [] : [p10, p90]));
  if (ends.length === 0) return null;
  const all = value === null ? ends : [...ends, value];
  const [least, most] = [Math.min(...all), Math.max(...all)];
  const place = (x: number): number => (most === least ? 0.5 : MARGIN + ((1 - 2 * MARGIN) * (x - least)) / (most - least));
  const bar = ({ p10, p50, p90 }: RunBand['own']): RangeMark['own'] =>
    p10 === null || p50 === null || p90 === null ? null : [place(p10), place(p50), place(p90)];
  return { own: bar(own), sisters: bar(sisters), run: value === null ? null : place(value) };
}

/** What a mark says, in words. */
export function bandText({ own, sisters, unit }: RunBand, units: SiteUnits): string {
  const words = (band: RunBand['own'], where: string): string =>
    band.p10 === null
      ? `${where}: not enough good runs (${band.n})`
      : `${where}: ${figureText(band.p10, unit, units)} to ${figureText(band.p90, unit, units)}, median ${figureText(band.p50, unit, units)}, of ${band.n} runs`;
  return `${words(own, 'usual here')}; ${words(sisters, 'in other chambers')}`;
}
