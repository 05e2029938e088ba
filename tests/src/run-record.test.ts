/** Of the run in run-example.ts. Bands, limits and times: trade practice, no source; RF and gas arithmetic by hand, vacuum by its logarithm. */
import { expect, test } from 'vitest';
import type { EventOf } from '../../src/event.ts';
import { runRecord as runRecordSchema } from '../../src/run-facts.ts';
import { runRecord } from '../../src/run-record.ts';
import { at, between, mTorr, RULES, runExample, sccm, WORDS, type Change } from './run-example.ts';

const recordOf = (change: Change = {}) => runRecord(runExample(change));
const codesOf = (change: Change = {}): string[] =>
  recordOf(change).deviations.map(({ code, step }) => (step === null ? code : `${code}/${step}`));
const textsOf = (change: Change): string =>
  recordOf(change)
    .deviations.map(({ text }) => text)
    .join('; ');
const stretch = (change: Change, step: number) => recordOf(change).stretches.find((each) => each.step === step)!;
const quantity = (change: Change, step: number, signal: string) => stretch(change, step).quantities.find((each) => each.signal === signal);

test('[RD1] a healthy run has a record within every limit, of the schema it is stored by', () => {
  const record = recordOf();
  expect(runRecordSchema.parse(record)).toEqual(record);
  expect(record.deviations).toEqual([]);
  expect(record.coverage).toBe(1);
  expect(record.meters).toEqual({ pumpS: 360_000, rfS: 36_360, cycles: 41 });
});

test('[RD1] a value told again, and words from long before and after, change nothing', () => {
  const again = Object.fromEntries(
    Object.entries(WORDS).map(([signal, told]) => [
      signal,
      told
        .flatMap(([s, value]): [number, number | null][] =>
          s === 132 || s === 230
            ? [
                [s, value],
                [s + 3, value],
              ]
            : [[s, value]],
        )
        .concat([[900, 1]]),
    ]),
  );
  expect(recordOf({ tell: again })).toEqual(recordOf());
});

test('[RD2] [DV9] nothing mapped, nothing known: no number and no deviation is made up', () => {
  const record = runRecord({ ...runExample(), series: new Map() });
  const {
    energyJ,
    nominalEnergyJ,
    reflectedFraction,
    vswr,
    ignitionDelayMs,
    stableBeforeRf,
    rfDropouts,
    basePressurePa,
    plasmaPressurePa,
  } = record;
  expect([
    energyJ,
    nominalEnergyJ,
    reflectedFraction,
    vswr,
    ignitionDelayMs,
    stableBeforeRf,
    rfDropouts,
    basePressurePa,
    plasmaPressurePa,
  ]).toEqual(Array.from({ length: 9 }, () => null));
  expect([record.gases, record.flowZero, record.flowError, record.deviations]).toEqual([[], [], [], []]);
});

test('[RD2] [DV9] a hole of more than 10 s refuses what lies across it, and is told as time nobody observed', () => {
  const hole = (signal: keyof typeof WORDS) => between(signal, 260, 280, [[260, null]]);
  const change = {
    tell: { ...hole('rf.forward'), ...hole('rf.reflected'), ...hole('gas.1.flow'), ...hole('chamber.pressure') },
    run: { observedMs: 435_000 },
  };
  const record = recordOf(change);
  expect([record.energyJ, record.rfDropouts, record.gases[0]?.mol]).toEqual([null, null, null]);
  expect(record.energyKnownJ).toBeCloseTo(245_620 - 20 * 1485, 6);
  expect(record.gases[0]?.knownMol).toBeCloseTo(209 * sccm(500) + sccm(2), 9);
  expect(record.plasmaPressurePa).toBeCloseTo(mTorr(220), 3);
  expect(codesOf(change)).toEqual(['not-fully-observed']);
  expect(textsOf(change)).toBe('95.6 % of the run was observed');
  expect(quantity(change, 2, 'rf.forward')).toMatchObject({ knownMs: 80_000, mean: 1500 });
});

test('[RD3] alarms are those that became active during the run, without notices and shelved ones', () => {
  const alarm = (s: number, change: Partial<EventOf<'alarm'>> = {}): EventOf<'alarm'> => ({
    kind: 'alarm',
    chamber: 'PC-01',
    at: at(s),
    code: 'RF_REFL_HIGH',
    text: 'Reflected power high',
    priority: 'medium',
    notice: false,
    change: 'activated',
    counted: true,
    suppressed: false,
    ...change,
  });
  const alarms = [
    alarm(-1),
    alarm(200),
    alarm(0),
    alarm(210, { notice: true }),
    alarm(220, { suppressed: true }),
    alarm(230, { change: 'cleared' }),
    alarm(455),
  ];
  expect(recordOf({ alarms }).alarms).toEqual([
    { code: 'RF_REFL_HIGH', text: 'Reflected power high', priority: 'medium', at: at(0) },
    { code: 'RF_REFL_HIGH', text: 'Reflected power high', priority: 'medium', at: at(200) },
  ]);
});

test('[SQ1] [SQ2] each stretch has its pressure, the lines that flowed and RF where it was on', () => {
  const signals = recordOf().stretches.map(({ phase, quantities }) => [
    phase,
    quantities.map(({ signal, setPoint }) => `${signal} ${setPoint?.toPrecision(4) ?? ''}`.trim()),
  ]);
  expect(signals).toEqual([
    ['pump-down', ['chamber.pressure']],
    ['gas-stabilisation', ['chamber.pressure', 'gas.1.flow 0.0003718']],
    ['plasma', ['chamber.pressure', 'gas.1.flow 0.0003718', 'rf.forward 1000', 'rf.reflected']],
    ['plasma', ['chamber.pressure', 'gas.1.flow 0.0003718', 'gas.2.flow 0.00007436', 'rf.forward 1500', 'rf.reflected']],
    ['purge', ['chamber.pressure']],
    ['vent-delay', ['chamber.pressure']],
    ['vent', ['chamber.pressure']],
  ]);
});

test('[SQ1] [SQ2] where no set point is told a line stands by what it showed, and no band is judged', () => {
  const change = { without: ['gas.1.flowSetPoint', 'gas.2.flowSetPoint', 'rf.forwardSetPoint'] as const };
  expect(quantity(change, 2, 'gas.2.flow')).toMatchObject({ setPoint: null, outOfBandMs: null });
  expect(quantity(change, 1, 'gas.2.flow')).toBeUndefined();
  expect(quantity(change, 2, 'rf.forward')).toMatchObject({ setPoint: null, mean: 1500, outOfBandMs: null });
});

test('[SQ3] the ramp after a change is in no mean, and neither is the lighting of plasma', () => {
  expect(quantity({}, 1, 'rf.forward')).toMatchObject({ mean: 1000, min: 1000, max: 1000, knownMs: 100_000 });
  expect(quantity({}, 1, 'rf.reflected')).toMatchObject({ mean: 10, min: 10, max: 10 });
  expect(quantity({}, 2, 'gas.2.flow')?.min).toBeCloseTo(sccm(100), 9);
});

test('[OB1] [OB2] the band of a flow is 5 % of set point or 1 % of full scale, whichever is wider, once it had 5 s', () => {
  const out = (shown: number, line: 1 | 2 = 1) =>
    quantity({ tell: between(`gas.${line}.flow`, 270, 290, [[270, sccm(shown)]]) }, 2, `gas.${line}.flow`)?.outOfBandMs;
  expect([out(524.9), out(525.1), out(474.9)]).toEqual([0, 20_000, 20_000]);
  // At a fifth of full scale 5 % of the set point is the 5 sccm that 1 % of full scale is as well.
  expect([out(104.9, 2), out(105.1, 2)]).toEqual([0, 20_000]);
  const early = { tell: between('gas.2.flow', 230, 240, [[231, sccm(60)]]) };
  expect(quantity(early, 2, 'gas.2.flow')?.outOfBandMs).toBe(5_000);
});

test('[OB1] [OB2] forward power is judged within 3 % of its set point from 5 s after RF came on', () => {
  const out = (watts: number) => quantity({ tell: between('rf.forward', 270, 290, [[270, watts]]) }, 2, 'rf.forward')?.outOfBandMs;
  expect([out(1544), out(1546), out(1454)]).toEqual([0, 20_000, 20_000]);
});

test('[OB3] [DV1] a stay outside is told when it lasted longer than 10 s on end, with its step', () => {
  const flow = (from: number, to: number) => ({ tell: between('gas.1.flow', from, to, [[from, sccm(400)]]) });
  expect(codesOf(flow(270, 280))).toEqual([]);
  expect(codesOf(flow(270, 280.1))).toEqual(['flow-out-of-band/2']);
  expect(textsOf(flow(270, 290))).toBe('O2 flow out of its band for 20 s on end in plasma step 2, limit 10 s');
  expect(codesOf({ tell: between('rf.forward', 150, 170, [[150, 950]]) })).toEqual(['power-out-of-band/1']);
});

test('[DV2] [RU4] a match that hunts delivers less although every timer is met', () => {
  const hunting = Array.from({ length: 180 }, (_, i) => [135 + i, (i % 9 < 5 ? 0.02 : 0.24) * (i < 95 ? 1000 : 1500)] as const);
  const change = { tell: between('rf.reflected', 135, 330, hunting) };
  const { energyJ, nominalEnergyJ } = recordOf(change);
  expect(energyJ! / nominalEnergyJ!).toBeGreaterThan(0.86);
  expect(energyJ! / nominalEnergyJ!).toBeLessThan(0.89);
  expect(codesOf(change)).toEqual(['energy-low', 'reflected-high']);
  expect(recordOf({ tell: between('rf.reflected', 150, 330, [[150, 0]]) }).deviations).toEqual([]);
});

test('[DV2] more than was set is told too', () => {
  const high = {
    tell: {
      ...between('rf.forward', 132, 330, [
        [132, 1048],
        [230, 1572],
      ]),
    },
  };
  expect(codesOf(high)).toContain('energy-high');
});

test('[DV3] a step shorter than 98 % of its recipe time is told; a second of a short step is no matter', () => {
  const wanted = (s: number) => ({
    tell: {
      'recipe.stepDuration': [
        [-500, 0],
        [130, s],
        [330, 0],
      ] as const,
    },
  });
  expect(codesOf(wanted(103))).toEqual([]);
  expect(codesOf(wanted(103.1))).toEqual(['step-short/1', 'step-short/2']);
  expect(textsOf(wanted(120))).toContain('plasma step 1 lasted 100 s of the recipe’s 120 s');
});

test('[DV4] [RU5] reflected power is judged once matched, 15 s after it lit, by the time above 3 %', () => {
  const reflected = (from: number, to: number) => ({ tell: between('rf.reflected', from, to, [[from, 60]]) });
  expect(codesOf(reflected(240, 270))).toEqual(['reflected-high']);
  expect(codesOf(reflected(240, 269))).toEqual([]);
  // 38 s above, of which 23 s after the 15 s that a match may take.
  expect(codesOf(reflected(132, 170))).toEqual([]);
});

test('[RU1] [RU2] plasma burns once little comes back for a second; the delay runs from the call for RF', () => {
  expect(recordOf().ignitionDelayMs).toBe(2000);
  expect(recordOf({ without: ['rf.enabled'] }).ignitionDelayMs).toBe(2000);
  expect(
    recordOf({
      tell: {
        'rf.reflected': [
          [-500, 0],
          [130, 450],
          [132, 10],
          [132.5, 450],
          [134, 10],
          [230, 15],
          [330, 0],
        ],
      },
    }).ignitionDelayMs,
  ).toBe(4000);
  const unseen = {
    tell: {
      'rf.enabled': [
        [129, null],
        [130.5, 1],
        [330, 0],
      ] as const,
    },
  };
  expect(recordOf(unseen).ignitionDelayMs).toBeNull();
});

test('[RU2] [DV5] an ignition is slow when it was certainly dark for longer than 10 s', () => {
  const litAt = (...told: [number, number][]) => ({
    tell: {
      'rf.forward': [[-500, 0], ...told.map(([s]) => [s, 500] as const), [told.at(-1)![0] + 1, 1000], [230, 1500], [330, 0]] as const,
      'rf.reflected': [[-500, 0], ...told, [told.at(-1)![0] + 1, 10], [230, 15], [330, 0]] as const,
    },
  });
  const dark = (seconds: number): [number, number][] => Array.from({ length: seconds + 1 }, (_, i) => [130 + i, 450 + (i % 2)]);
  expect(codesOf(litAt(...dark(10)))).toEqual([]);
  const slow = litAt(...dark(11));
  expect(codesOf(slow)).toEqual(['ignition-slow/1']);
  expect(textsOf(slow)).toBe('plasma lit 12 s after the call for RF, limit 10 s');
});

test('[RU3] [DV5] a dropout is plasma gone inside a step; three are told, and so is one that costs 2 %', () => {
  const gone = (...spans: [number, number][]) => ({
    tell: {
      'rf.forward': [
        [-500, 0],
        [130, 500],
        [132, 1000],
        ...spans.flatMap(([from, to]): [number, number][] => [
          [from, 0],
          [to, 1000],
        ]),
        [230, 1500],
        [330, 0],
      ] as const,
    },
  });
  expect(recordOf(gone([150, 150.4])).rfDropouts).toBe(0);
  expect(recordOf(gone([150, 151], [160, 161])).rfDropouts).toBe(2);
  expect(codesOf(gone([150, 151], [160, 161]))).toEqual([]);
  expect(codesOf(gone([150, 151], [160, 161], [170, 171]))).toContain('rf-dropouts/1');
  expect(codesOf(gone([150, 155]))).toContain('rf-dropouts/1');
  expect(recordOf(gone([150, 230])).rfDropouts).toBe(1);
});

test('[RU1] [RU3] a match that throws everything back for 2 s has lost the plasma', () => {
  const lost = (s: number) => recordOf({ tell: between('rf.reflected', 160, 160 + s, [[160, 700]]) }).rfDropouts;
  expect([lost(1.9), lost(2)]).toEqual([0, 1]);
});

test('[RU4] delivered energy is forward less reflected over plasma; a pause of the recipe asks for nothing', () => {
  // 2 s of 50 W, 98 s of 990 W, 100 s of 1485 W; set: 100 s of 1000 W, 100 s of 1500 W.
  expect(recordOf()).toMatchObject({ energyJ: 245_620, nominalEnergyJ: 250_000 });
  const pause = {
    tell: {
      'rf.enabled': [
        [-500, 0],
        [130, 1],
        [230, 0],
        [238, 1],
        [330, 0],
      ] as const,
    },
  };
  expect(recordOf(pause).nominalEnergyJ).toBe(250_000 - 8 * 1500);
});

test('[RU5] reflected fraction and standing wave ratio, textbook: 1 % is 1.22', () => {
  const { reflectedFraction, vswr } = recordOf();
  expect(reflectedFraction).toBeCloseTo(0.01, 9);
  expect(vswr).toBeCloseTo(1.2222, 4);
});

test('[GS1] gas totals are the flow while the valve was open', () => {
  const [oxygen, fluoride] = recordOf().gases;
  expect(oxygen).toMatchObject({ line: 1, kind: 'O2' });
  expect(oxygen?.mol).toBeCloseTo(229 * sccm(500) + sccm(2), 9);
  expect(fluoride?.mol).toBeCloseTo(99 * sccm(100), 9);
  expect(
    recordOf({
      tell: {
        'gas.1.valveOpen': [
          [100, 1],
          [150, null],
          [330, 0],
        ],
      },
    }).gases[0]?.mol,
  ).toBeNull();
});

test('[GS2] [DV6] a flow outside its band when RF comes is told, and so is gas that had less than 10 s', () => {
  const late = { tell: between('gas.1.flow', 101, 131, [[101, sccm(470)]]) };
  expect(recordOf(late).stableBeforeRf).toBe(false);
  expect(codesOf(late)).toContain('gas-not-stable');
  expect(recordOf()).toMatchObject({ stableBeforeRf: true, stabilisationMs: 30_000 });
  expect(recordOf({ tell: between('gas.1.flow', 101, 131, [[101, null]]) }).stableBeforeRf).toBeNull();
  const { phases } = runExample().run;
  const short = phases.map((span) =>
    span.phase === 'pump-down' ? { ...span, to: at(121) } : span.phase === 'gas-stabilisation' ? { ...span, from: at(121) } : span,
  );
  expect(textsOf({ run: { phases: short } })).toBe('gas flowed only 9.0 s before RF came on, least 10 s');
});

test('[GS3] [GS4] zero and error of a flow controller, as shares of full scale', () => {
  const { flowZero, flowError } = recordOf({ tell: between('gas.1.flow', 101, 330, [[101, sccm(510)]]) });
  expect(flowZero.map(({ line, share }) => [line, Number(share.toFixed(6))])).toEqual([
    [1, 0.002],
    [2, 0],
  ]);
  expect(flowError[0]?.share).toBeCloseTo(0.01, 6);
});

test('[GS5] [DV8] pumped too briefly after fluorinated gas is told; without such gas, or half seen, nothing is', () => {
  const { phases } = runExample().run;
  const short = phases.map((span) =>
    span.phase === 'purge' ? { ...span, to: at(349) } : span.phase === 'vent-delay' ? { ...span, from: at(349) } : span,
  );
  expect(codesOf({ run: { phases: short } })).toEqual(['purge-short']);
  expect(textsOf({ run: { phases: short } })).toBe('pumped 19 s after the last fluorinated gas, least 20 s');
  const none = { 'gas.2.flow': [[-500, 0]], 'gas.2.valveOpen': [[-500, 0]], 'gas.2.flowSetPoint': [[-500, 0]] } as const;
  expect(codesOf({ run: { phases: short }, tell: none })).toEqual([]);
  expect(codesOf({ run: { phases: short, observedMs: 400_000 } })).toEqual(['not-fully-observed']);
});

test('[DV8] a run that a hole interrupted has the short purge that was told while it was vented; one told of another run is not its own', () => {
  const { run } = runExample();
  const text = 'Vented after only 0 s of pumping since the last fluorinated gas; the shortest purge is 20 s.';
  const finding = { kind: 'finding', chamber: run.chamber, at: at(400), code: 'purge-short', text, run: run.run } as const;
  const interrupted = { outcome: 'interrupted', observedMs: 400_000 } as const;
  expect(codesOf({ run: interrupted })).toEqual(['not-fully-observed']);
  expect(codesOf({ run: interrupted, findings: [finding] })).toEqual(['purge-short', 'not-fully-observed']);
  expect(textsOf({ run: interrupted, findings: [finding] })).toContain('Vented after only 0 s');
  expect(codesOf({ run: interrupted, findings: [{ ...finding, run: 'another' }] })).toEqual(['not-fully-observed']);
  expect(codesOf({ run: interrupted, findings: [{ ...finding, code: 'gas-with-door-open' }] })).toEqual(['not-fully-observed']);
});

test('[RV1] the pump-down is split where its logarithm passes 1.9 and 0.3 Torr, and ends when gas comes', () => {
  const { pumpDown } = recordOf();
  const fallsTo = (torr: number): number => 40_000 + (60_000 * Math.log(2 / torr)) / Math.log(2 / 0.09);
  expect(pumpDown.firstMs).toBe(Math.round(fallsTo(1.9)));
  expect(pumpDown.firstMs! + pumpDown.middleMs!).toBe(Math.round(fallsTo(0.3)));
  expect(pumpDown.totalMs).toBe(100_000);
  const vented = runExample()
    .run.phases.slice(0, 1)
    .concat({ phase: 'vent', step: null, from: at(100), to: at(455), source: 'tag' });
  expect(recordOf({ run: { phases: vented } }).pumpDown).toMatchObject({ tailMs: null, totalMs: null });
});

test('[RV2] [DV7] the lowest pressure before gas, above base pressure told; a pump-down half seen has none', () => {
  expect(recordOf().basePressurePa).toBeCloseTo(mTorr(94.8), 1);
  const high = { tell: between('chamber.pressure', 70, 101, [[70, mTorr(140)]]) };
  expect(codesOf(high)).toEqual(['base-not-reached']);
  expect(textsOf(high)).toContain('lowest pressure before gas 140 mTorr');
  expect(recordOf({ tell: between('chamber.pressure', 70, 101, [[70, null]]) }).basePressurePa).toBeNull();
});

test('[RV3] pressure in plasma is the median of the longest step once settled', () => {
  expect(
    recordOf({
      tell: between('chamber.pressure', 145, 229, [
        [145, mTorr(230)],
        [190, mTorr(240)],
      ]),
    }).plasmaPressurePa,
  ).toBeCloseTo(mTorr(230), 3);
  expect(recordOf({ tell: between('chamber.pressure', 160, 180, [[160, null]]) }).plasmaPressurePa).toBeNull();
});

test('[RV4] purge and vent have no time when their begin or end fell into a hole', () => {
  expect(recordOf()).toMatchObject({ purgeMs: 60_000, ventMs: 60_000 });
  const phases = runExample().run.phases.map((span) => (span.phase === 'vent-delay' ? { ...span, source: 'gap' as const } : span));
  expect(recordOf({ run: { phases } })).toMatchObject({ purgeMs: null, ventMs: 60_000 });
});

test('[RV1] a leak test tells its rate of rise, by the straight line after its first minute', () => {
  const phases = [
    { phase: 'pump-down', step: null, from: at(0), to: at(100), source: 'tag' },
    { phase: 'leak-test', step: null, from: at(100), to: at(400), source: 'tag' },
  ] as const;
  const rise = Array.from({ length: 60 }, (_, i) => [100 + 5 * i, mTorr(100 + (5 * i * 25) / 60)] as const);
  const record = recordOf({
    run: { phases: [...phases], at: at(400), observedMs: 400_000 },
    tell: { 'chamber.pressure': [[-500, mTorr(2000)], [40, mTorr(90)], ...rise] },
  });
  expect(record.rateOfRisePaPerS).toBeCloseTo(mTorr(25) / 60, 6);
  expect(RULES.basePressurePa).toBeCloseTo(mTorr(100));
});
