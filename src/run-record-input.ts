/** What a run record is made from: the fact of the run's end, what its instruments told, and what the chamber is. Values in, nothing else. */
import type { Span } from './calendar.ts';
import type { ChamberRules } from './chamber-rules.ts';
import type { EventOf, PhaseSpan, RunEnded } from './event.ts';
import { heldPieces, spansWhere, type Piece } from './held-pieces.ts';
import type { Sample } from './integral.ts';
import type { RunRecord } from './run-facts.ts';
import { GAS_LINES, type GasLine, type SignalName } from './signal.ts';

/** The signals a run record is made of; samples of all others are not needed. */
export const RECORD_SIGNALS: readonly SignalName[] = [
  'chamber.pressure',
  ...GAS_LINES.flatMap((line) => [`gas.${line}.flow`, `gas.${line}.flowSetPoint`, `gas.${line}.valveOpen`] as const),
  'rf.enabled',
  'rf.forward',
  'rf.reflected',
  'rf.forwardSetPoint',
  'recipe.stepDuration',
  'meter.pumpHours',
  'meter.rfHours',
  'meter.cycles',
];

/** Samples by signal, ascending; each begins with what held before the run where that is known. */
export type RecordSeries = ReadonlyMap<SignalName, readonly Sample[]>;

export type RunRecordInput = {
  readonly run: RunEnded;
  readonly series: RecordSeries;
  readonly rules: ChamberRules;
  /** Activations on this chamber; those outside the run are passed over. */
  readonly alarms: readonly EventOf<'alarm'>[];
  /** Process checks told on this chamber; those of other runs are passed over. */
  readonly findings: readonly EventOf<'finding'>[];
  readonly counts: RunRecord['counts'];
};

/** The run as its figures are computed: looked at through the spans that matter. */
export type RunView = {
  readonly run: RunEnded;
  readonly rules: ChamberRules;
  readonly whole: Span;
  readonly plasma: readonly PhaseSpan[];
  /** Told while it went on. */
  readonly findings: readonly EventOf<'finding'>[];
  readonly has: (signal: SignalName) => boolean;
  readonly samples: (signal: SignalName) => readonly Sample[];
  readonly pieces: (signal: SignalName, span: Span) => readonly Piece[];
};

/** A value told again is no change, and begins nothing anew. */
export function runView({ run, series, rules, findings }: RunRecordInput): RunView {
  const changes = new Map([...series].map(([signal, told]) => [signal, told.filter(({ value }, i) => value !== told[i - 1]?.value)]));
  const samples = (signal: SignalName): readonly Sample[] => changes.get(signal) ?? [];
  return {
    run,
    rules,
    whole: { from: run.startedAt, to: run.at },
    plasma: run.phases.filter(({ phase }) => phase === 'plasma'),
    findings: findings.filter((one) => one.run === run.run),
    has: (signal) => samples(signal).some(({ value }) => value !== null),
    samples,
    pieces: (signal, span) => heldPieces(samples(signal), span),
  };
}

type LineSignals = { readonly flow: SignalName; readonly setPoint: SignalName; readonly valve: SignalName };
export const lineSignals = (line: GasLine): LineSignals => ({
  flow: `gas.${line}.flow`,
  setPoint: `gas.${line}.flowSetPoint`,
  valve: `gas.${line}.valveOpen`,
});

/** The gas lines of which a flow was told. */
export const toldLines = (view: RunView): readonly GasLine[] => GAS_LINES.filter((line) => view.has(lineSignals(line).flow));

/** When gas can flow in a line: its valve is open; where no valve is told, flow is asked for; where not even that, always. */
export function openSpans(view: RunView, line: GasLine): readonly Span[] {
  const { setPoint, valve } = lineSignals(line);
  if (view.has(valve)) return spansWhere(view.pieces(valve, view.whole), ({ value }) => value > 0);
  if (view.has(setPoint)) return spansWhere(view.pieces(setPoint, view.whole), ({ value }) => value > 0);
  return [view.whole];
}
