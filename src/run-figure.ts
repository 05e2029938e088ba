/**
 * The figures by which one run is compared with others, SI inside, each under a name that is the same in every run of a recipe.
 * [FG1] A figure that this run does not have is not in the list; one that it has and nobody knows has the value null.
 * [FG2] Flows and forward power are compared step by step as means over what was observed; times by phase and step, those of one name added.
 */
import type { RunEnded } from './event.ts';
import type { RunRecord } from './run-facts.ts';

export type FigureUnit = 's' | 'Pa' | 'J' | '1' | 'mol/s' | 'W' | 'Pa/s';
export type RunFigure = { readonly name: string; readonly words: string; readonly unit: FigureUnit; readonly value: number | null };
export type RecordedRun = { readonly run: RunEnded; readonly record: RunRecord };

export function runFigures({ run, record }: RecordedRun): readonly RunFigure[] {
  const { pumpDown } = record;
  const has = (phase: string): boolean => run.phases.some((span) => span.phase === phase);
  const pumped = [
    seconds('pump-down-first', 'pump-down to 1.9 Torr', pumpDown.firstMs),
    seconds('pump-down-middle', 'pump-down 1.9 to 0.3 Torr', pumpDown.middleMs),
    seconds('pump-down-tail', 'pump-down below 0.3 Torr', pumpDown.tailMs),
    seconds('pump-down', 'pump-down', pumpDown.totalMs),
    figure('base-pressure', 'lowest pressure before gas', 'Pa', record.basePressurePa),
  ];
  const burned = [
    seconds('ignition-delay', 'ignition delay', record.ignitionDelayMs),
    figure('plasma-pressure', 'pressure in plasma', 'Pa', record.plasmaPressurePa),
    figure('delivered-energy', 'delivered RF energy', 'J', record.energyJ),
    figure('reflected-fraction', 'reflected fraction', '1', record.reflectedFraction),
  ];
  const tested = figure('rate-of-rise', 'rate of rise', 'Pa/s', record.rateOfRisePaPerS);
  return [
    ...(has('pump-down') ? pumped : []),
    ...(has('plasma') ? burned : []),
    ...(has('leak-test') ? [tested] : []),
    ...stepFigures(record),
    ...timeFigures(run),
  ];
}

const figure = (name: string, words: string, unit: FigureUnit, value: number | null): RunFigure => ({ name, words, unit, value });
const seconds = (name: string, words: string, ms: number | null): RunFigure => figure(name, words, 's', ms === null ? null : ms / 1000);

/** [FG2] */
function stepFigures({ stretches, gases }: RunRecord): readonly RunFigure[] {
  const plasma = Map.groupBy(
    stretches.filter(({ phase }) => phase === 'plasma'),
    ({ step }) => step,
  );
  return [...plasma].flatMap(([step, parts]) => {
    const signals = new Set(parts.flatMap(({ quantities }) => quantities.map(({ signal }) => signal)));
    return [...signals].flatMap((signal): RunFigure[] => {
      const line = /^gas\.(\d)\.flow$/.exec(signal)?.[1];
      const isPower = signal === 'rf.forward';
      if (line === undefined && !isPower) return [];
      const kind = gases.find((gas) => gas.line === Number(line))?.kind ?? `gas ${line}`;
      const words = `${isPower ? 'forward power' : `${kind} flow`} in step ${step ?? '?'}`;
      return [figure(`${signal}/${step ?? ''}`, words, isPower ? 'W' : 'mol/s', meanOver(parts, signal))];
    });
  });
}

function meanOver(parts: RunRecord['stretches'], signal: string): number | null {
  let [sum, ms] = [0, 0];
  for (const { mean, knownMs } of parts.flatMap(({ quantities }) => quantities.filter((each) => each.signal === signal))) {
    if (mean === null) continue;
    sum += mean * knownMs;
    ms += knownMs;
  }
  return ms === 0 ? null : sum / ms;
}

const TIMED = { 'gas-stabilisation': 'gas stabilisation', plasma: 'plasma', purge: 'purge', vent: 'vent', hold: 'hold' } as const;

/** [FG2] A time whose begin or end fell into a hole is not known. */
function timeFigures({ phases }: RunEnded): readonly RunFigure[] {
  const named = Map.groupBy(
    phases.filter(({ phase }) => phase in TIMED),
    ({ phase, step }) => `${phase}/${step ?? ''}`,
  );
  return [...named].map(([name, spans]) => {
    const { phase, step } = spans[0] as RunEnded['phases'][number];
    const seen = spans.every((span) => span.source !== 'gap' && phases[phases.indexOf(span) + 1]?.source !== 'gap');
    const ms = spans.reduce((sum, { from, to }) => sum + to - from, 0);
    const words = `time of ${TIMED[phase as keyof typeof TIMED]}${step === null ? '' : ` step ${step}`}`;
    return seconds(`time/${name}`, words, seen ? ms : null);
  });
}
