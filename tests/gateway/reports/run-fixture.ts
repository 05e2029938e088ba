/** An invented run with a record: two plasma steps, one flow that left its band, a hole in the words of the instruments. */
import type { Trace } from '../../../src/contract.ts';
import type { Phase } from '../../../src/equipment.ts';
import type { RunBand, RunRecordAnswer } from '../../../src/run-answer.ts';
import type { MeasuredQuantity, RunRecord } from '../../../src/run-facts.ts';
import { fixedDice } from './drawn.ts';

const S = 1000;
const START = Date.UTC(2026, 10, 17, 9, 42, 11);
const SCCM = 7.4358e-7;
const PA_MTORR = 0.133322;

type Stretch = { readonly phase: Phase; readonly step: number | null; readonly s: number };
const COURSE: readonly Stretch[] = [
  { phase: 'pump-down', step: null, s: 138 },
  { phase: 'gas-stabilisation', step: null, s: 30 },
  { phase: 'plasma', step: 1, s: 600 },
  { phase: 'plasma', step: 2, s: 900 },
  { phase: 'purge', step: null, s: 60 },
  { phase: 'vent', step: null, s: 96 },
];

export type RunWish = {
  readonly verdict?: RunRecordAnswer['verdict'];
  readonly intact?: boolean;
  readonly name?: (name: string) => string;
  /** Plasma steps. */
  readonly steps?: number;
  readonly alarms?: number;
  readonly isKnown?: boolean;
};

export function exampleRunRecord(wish: RunWish = {}): RunRecordAnswer {
  const { verdict = 'outside-limits', intact = true, name = String, steps = 2, alarms = 2, isKnown = true } = wish;
  const phases = course(steps);
  const end = phases.at(-1)?.to ?? START;
  const value = <T>(known: T): T | null => (isKnown ? known : null);
  const record: RunRecord = {
    rules: 1,
    stretches: phases.map((span) => ({ ...span, quantities: isKnown ? quantities(span) : [] })),
    energyJ: value(4_431_000),
    energyKnownJ: isKnown ? 4_431_000 : 1_000_000,
    nominalEnergyJ: value(4_500_000),
    reflectedFraction: value(0.0061),
    vswr: value(1.17),
    ignitionDelayMs: value(840),
    stabilisationMs: value(30 * S),
    stableBeforeRf: value(true),
    rfDropouts: value(0),
    pumpDown: { firstMs: value(84 * S), middleMs: value(31 * S), tailMs: value(23 * S), totalMs: value(138 * S) },
    basePressurePa: value(11.2),
    plasmaPressurePa: value(38.4),
    purgeMs: value(60 * S),
    ventMs: value(96 * S),
    rateOfRisePaPerS: null,
    gases: [
      { line: 1, kind: name('O2'), mol: value(0.0336), knownMol: 0.0336 },
      { line: 2, kind: name('CF4'), mol: null, knownMol: 0.0041 },
    ],
    flowZero: [{ line: 1, share: 0.0012 }],
    flowError: isKnown ? [{ line: 1, share: -0.0031 }] : [],
    deviations:
      verdict === 'outside-limits'
        ? [
            { code: 'flow-out-of-band', text: name('CF4 flow out of its band for 14 s on end in plasma step 2, limit 5 s'), step: 2 },
            { code: 'not-fully-observed', text: '98.2 % of the run was observed', step: null },
          ]
        : verdict === 'not-enough-data'
          ? [{ code: 'not-fully-observed', text: '12.0 % of the run was observed', step: null }]
          : [],
    alarms: Array.from({ length: alarms }, (_, i) => ({
      code: 'GAS2_FLOW_DEV',
      text: name('Gas 2 flow deviation'),
      priority: 'medium' as const,
      at: START + (900 + 5 * i) * S,
    })),
    coverage: verdict === 'not-enough-data' ? 0.12 : verdict === 'outside-limits' ? 0.982 : 1,
    counts: { pumpMs: 18_204 * 3600 * S, rfMs: 4_120 * 3600 * S, runs: 8_411, unobservedMs: 0 },
    meters: { pumpS: null, rfS: null, cycles: null },
  };
  const fact = {
    kind: 'run-ended' as const,
    chamber: 'PC-07',
    at: end,
    run: `PC-07/${new Date(START).toISOString()}`,
    startedAt: START,
    outcome: 'completed' as const,
    recipe: name('DSM-PI-25'),
    load: name('QM-26-04117-B'),
    engineering: false,
    doorClosedAt: START - 40 * S,
    phases: phases.map((span) => ({ ...span, source: 'tag' as const })),
    observedMs: end - START,
  } satisfies RunRecordAnswer['fact'];
  const { kind: _kind, at: endedAt, ...row } = fact;
  return {
    run: { ...row, endedAt, deviations: record.deviations.map(({ code }) => code) },
    fact,
    record,
    verdict,
    digest: '6f1d2c9ab04e5577c1a0e9d3b8f4427a6d0be1c55f2a9083e7d4c6b1a2f09d3e',
    intact,
    bands: isKnown ? bands(steps) : [],
    gases: [
      { line: 1, kind: name('O2'), fullScaleMolPerS: 2000 * SCCM },
      { line: 2, kind: name('CF4'), fullScaleMolPerS: 500 * SCCM },
    ],
    units: { pressure: 'mTorr', flow: 'sccm' },
  };
}

function course(steps: number): { phase: Phase; step: number | null; from: number; to: number }[] {
  const plasma = Array.from({ length: steps }, (_, i): Stretch => ({ phase: 'plasma', step: i + 1, s: i % 2 === 0 ? 600 : 900 }));
  const all = [...COURSE.slice(0, 2), ...plasma, ...COURSE.slice(4)];
  let at = START;
  return all.map(({ phase, step, s }) => {
    const from = at;
    at += s * S;
    return { phase, step, from, to: at };
  });
}

function quantities({ phase, step, from, to }: { phase: Phase; step: number | null; from: number; to: number }): MeasuredQuantity[] {
  const knownMs = to - from;
  const one = (signal: string, mean: number, setPoint: number | null = null, outOfBandMs: number | null = null): MeasuredQuantity => ({
    signal,
    setPoint,
    mean,
    min: mean * 0.98,
    max: mean * 1.02,
    outOfBandMs,
    knownMs,
  });
  if (phase !== 'plasma' && phase !== 'gas-stabilisation') return [one('chamber.pressure', phase === 'vent' ? 41_000 : 420)];
  const gases = [one('gas.1.flow', 1200 * SCCM, 1200 * SCCM, 0), one('gas.2.flow', 288 * SCCM, 300 * SCCM, step === 2 ? 14 * S : 0)];
  const rf = [one('rf.forward', 2984, 3000, 0), one('rf.reflected', 18)];
  return [one('chamber.pressure', 288 * PA_MTORR), ...gases, ...(phase === 'plasma' ? rf : [])];
}

function bands(steps: number): RunBand[] {
  const of = (value: number, n: number, inside: boolean | null) => ({
    n,
    p10: n < 5 ? null : value * 0.97,
    p50: n < 5 ? null : value,
    p90: n < 5 ? null : value * 1.02,
    inside: n < 5 ? null : inside,
  });
  const band = (name: string, unit: string, value: number, inside = true): RunBand => ({
    name,
    words: name,
    unit,
    value,
    own: of(value, 25, inside),
    sisters: of(value * 1.01, name === 'ignition delay' ? 3 : 50, true),
  });
  return [
    band('pump-down', 's', 138, false),
    band('pump-down to 1.9 Torr', 's', 84, false),
    band('pump-down 1.9 to 0.3 Torr', 's', 31),
    band('pump-down below 0.3 Torr', 's', 23),
    band('lowest pressure before gas', 'Pa', 11.2),
    band('ignition delay', 's', 0.84),
    band('pressure in plasma', 'Pa', 38.4),
    band('delivered RF energy', 'J', 4_431_000),
    band('reflected fraction', '1', 0.0061),
    ...Array.from({ length: steps }, (_, i) => [
      band(`O2 flow in step ${i + 1}`, 'mol/s', 1200 * SCCM),
      band(`forward power in step ${i + 1}`, 'W', 2984),
    ]).flat(),
    band('gas stabilisation', 's', 30),
    band('purge', 's', 60),
    band('vent', 's', 96),
  ];
}

/** Samples each 5 s of what such a run shows; a minute of plasma 1 was not heard. */
export function exampleTrace({ run, gases }: RunRecordAnswer): Trace {
  const dice = fixedDice(7);
  const at: number[] = [];
  for (let t = run.startedAt; t < run.endedAt; t += 5 * S) at.push(t);
  const phaseAt = (t: number): Phase => run.phases.find(({ from, to }) => t >= from && t < to)?.phase ?? 'idle';
  const isLost = (t: number): boolean => t > START + 400 * S && t < START + 460 * S;
  const line = (signal: string, read: (t: number, phase: Phase) => number) => ({
    signal,
    at,
    value: at.map((t) => (isLost(t) ? null : read(t, phaseAt(t)))),
  });
  const pressure = (t: number, phase: Phase): number => {
    const since = (t - (run.phases.find((p) => t >= p.from && t < p.to)?.from ?? t)) / S;
    if (phase === 'pump-down') return Math.max(11, 101_325 * Math.exp(-since / 15));
    if (phase === 'vent') return Math.min(101_000, 12 * Math.exp(since / 10));
    return phase === 'purge' ? 14 : 38.4 * (1 + 0.01 * (dice() - 0.5));
  };
  const isGas = (phase: Phase): boolean => phase === 'plasma' || phase === 'gas-stabilisation';
  const isOn = (phase: Phase): boolean => phase === 'plasma';
  return {
    chamber: run.chamber,
    from: run.startedAt,
    to: run.endedAt,
    signals: [
      line('chamber.pressure', pressure),
      line('rf.forward', (_, p) => (isOn(p) ? 2984 + 20 * (dice() - 0.5) : 0)),
      line('rf.forwardSetPoint', (_, p) => (isOn(p) ? 3000 : 0)),
      line('rf.reflected', (_, p) => (isOn(p) ? 18 + 6 * dice() : 0)),
      ...gases.flatMap(({ line: n }) => [
        line(`gas.${n}.flow`, (_, p) => (isGas(p) ? (n === 1 ? 1200 : 288) * SCCM * (1 + 0.01 * (dice() - 0.5)) : 0)),
        line(`gas.${n}.flowSetPoint`, (_, p) => (isGas(p) ? (n === 1 ? 1200 : 300) * SCCM : 0)),
      ]),
    ],
  };
}
