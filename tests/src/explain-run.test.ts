import { describe, expect, test } from 'vitest';
import { explainRun, type ExplainedRun } from '../../src/explain-run.ts';
import { explanation as shape, type Explanation } from '../../src/explanation.ts';
import { runBands } from '../../src/run-band.ts';
import { runFigures } from '../../src/run-figure.ts';
import { runRecord } from '../../src/run-record.ts';
import { at, type Change, runExample, START } from './run-example.ts';

const UNITS = { pressure: 'mTorr', flow: 'sccm' };

function given(change: Change = {}): ExplainedRun & { readonly record: NonNullable<ExplainedRun['record']> } {
  const input = runExample(change);
  return { run: input.run, record: runRecord(input), own: [], sisters: [] };
}
const HOLE: Change = {
  tell: {
    'rf.forward': [
      [-500, 0],
      [130, 1000],
      [150, null],
      [200, 1000],
      [330, 0],
    ],
  },
  run: { observedMs: 405_000 },
};
const LEAKING: Change = {
  run: { phases: [...runExample().run.phases.slice(0, 1), { phase: 'leak-test', step: null, from: at(100), to: at(330), source: 'tag' }] },
};

const ask = (run: ExplainedRun, number: string): Explanation | null =>
  explainRun({ number, chamber: null, offset: 0, limit: 1000 }, run, UNITS);
const told = (run: ExplainedRun, number: string): Explanation => {
  const found = ask(run, number);
  if (found === null) throw new Error(`${number} has no explanation`);
  return found;
};

/** Every number that the pages show of a run, by the name it is asked for. */
function shown({ run, record }: ReturnType<typeof given>): Map<string, number | null> {
  const out = new Map<string, number | null>([
    ['process-time', run.at - run.startedAt],
    ['coverage', record.coverage],
    ['deviations', record.deviations.length],
    ['count/pump', record.counts.pumpMs],
    ['count/rf', record.counts.rfMs],
    ['count/runs', record.counts.runs],
    ['count/unobserved', record.counts.unobservedMs],
    ['figure/known-energy', record.energyKnownJ],
    ['figure/set-energy', record.nominalEnergyJ],
    ['figure/energy-share', record.energyJ === null || !record.nominalEnergyJ ? null : record.energyJ / record.nominalEnergyJ],
    ['figure/vswr', record.vswr],
    ['figure/dropouts', record.rfDropouts],
    ['figure/gas-before-rf', record.stabilisationMs === null ? null : record.stabilisationMs / 1000],
  ]);
  for (const { name, value } of runFigures({ run, record })) out.set(`figure/${name}`, value);
  for (const { line, mol, knownMol } of record.gases) out.set(`figure/gas-total/${line}`, mol ?? knownMol);
  for (const { code } of record.alarms) out.set(`alarm/${code}`, record.alarms.filter((alarm) => alarm.code === code).length);
  for (const phase of new Set(run.phases.map((span) => span.phase))) {
    const own = run.phases.filter((span) => span.phase === phase);
    out.set(
      `phase/${phase}`,
      own.reduce((sum, { from, to }) => sum + to - from, 0),
    );
  }
  for (const { from, to } of run.phases) out.set(`stretch/${from}/time`, to - from);
  for (const { from, quantities } of record.stretches)
    for (const { signal, setPoint, mean, min, max, outOfBandMs } of quantities)
      for (const [name, value] of Object.entries({ set: setPoint, mean, min, max, out: outOfBandMs }))
        out.set(`stretch/${from}/${signal}/${name}`, value);
  return out;
}

describe('a run explained', () => {
  test.each([
    ['whole', {}],
    ['with a hole', HOLE],
    ['that is a leak test', LEAKING],
    ['without reflected power', { without: ['rf.reflected'] }],
    ['without gas', { without: ['gas.1.flow', 'gas.2.flow'] }],
  ] as const)('[XR1] [XR5] of a run %s: every number that the pages show opens into the same value, and its terms make it', (_, change) => {
    const run = given(change);
    for (const [name, value] of shown(run)) {
      const found = told(run, name);
      expect([name, found.value]).toEqual([name, value]);
      expect([name, shape.parse(found)]).toEqual([name, found]);
      expect([name, found.formula.length > 10, found.source.length > 4]).toEqual([name, true, true]);
      if (value === null || found.numerator === null) continue;
      const made = found.numerator.amount / (found.denominator?.amount ?? 1);
      expect([name, Math.abs(made - value) <= 1e-8 * Math.abs(value)]).toEqual([name, true]);
    }
  });

  test('[XR1] each row leads to the stretch of the run that it was measured over', () => {
    const run = given();
    const { madeOf, madeOfTotal, from, to, run: id, units } = told(run, 'figure/delivered-energy');
    expect(madeOf.map(({ text, from: begin, to: end, counts }) => [text, begin - START, end - START, counts])).toEqual([
      ['plasma step 2', 230_000, 330_000, 'told by the controller'],
      ['plasma step 1', 130_000, 230_000, 'told by the controller'],
    ]);
    expect([madeOfTotal, from, to, id, units]).toEqual([2, START, at(455), run.run.run, UNITS]);
    for (const name of ['pump-down-tail', 'rf.forward/2', 'time/purge/', 'gas-total/2', 'dropouts'])
      expect([name, told(run, `figure/${name}`).madeOf.length > 0]).toEqual([name, true]);
  });

  test('[XR1] amounts are in the units of the site, energy in Wh, and a ratio of waves shows its formula with figures', () => {
    const run = given();
    expect(told(run, 'figure/base-pressure').worked).toBe('94.8 mTorr');
    expect(told(run, `stretch/${at(230)}/gas.2.flow/mean`).worked).toBe('100 sccm');
    expect(told(run, 'figure/delivered-energy').worked).toMatch(/^6\d\.\d Wh$/);
    expect(told(run, 'figure/vswr').worked).toMatch(/^\(1 \+ sqrt 1\.00 %\) \/ \(1 - sqrt 1\.00 %\) {2}= {2}1\.2\d$/);
  });

  test('[XR3] time nobody observed is told as left out, and what a hole refuses is not stated', () => {
    const run = given(HOLE);
    const energy = told(run, 'figure/delivered-energy');
    expect(energy).toMatchObject({ value: null, worked: 'not stated', excluded: [{ label: 'unobserved', ms: 50_000 }] });
    const mean = told(run, `stretch/${at(130)}/rf.forward/mean`);
    expect(mean.excluded.map(({ label, ms }) => [label, ms])).toEqual([
      ['settling', null],
      ['unobserved', 50_000],
    ]);
  });

  test('[XR2] what is usual is the median of the good runs, each a row with its value that leads to it; of four none is stated', () => {
    const run = given();
    const good = [...Array(6).keys()].map((i) => ({
      run: { ...run.run, run: `PC-01/${i}`, startedAt: START - i - 1, at: START - i },
      record: { ...run.record, basePressurePa: 10 + i },
    }));
    const [usual, band] = [
      told({ ...run, own: good }, 'usual/base-pressure'),
      runBands(run, good, []).find(({ name }) => name === 'base-pressure'),
    ];
    expect([usual.value, usual.low, usual.high]).toEqual([band?.own.p50, band?.own.p10, band?.own.p90]);
    expect(usual.madeOf.map(({ run: id, amount }) => [id, amount])[0]).toEqual(['PC-01/0', 10]);
    expect([usual.madeOfUnit, usual.madeOfTotal]).toEqual(['Pa', 6]);
    expect(told({ ...run, sisters: good.slice(2) }, 'sisters/base-pressure')).toMatchObject({ value: null, low: null, madeOfTotal: 4 });
  });

  test('[XR4] stretches of one phase and step that follow one another are one, a later one of the same is not in it', () => {
    const span = (phase: 'plasma' | 'hold', from: number, to: number) => ({
      phase,
      step: phase === 'plasma' ? 1 : null,
      from,
      to,
      source: 'tag' as const,
    });
    const base = given();
    const run = {
      ...base,
      run: { ...base.run, phases: [span('plasma', 0, 10), span('plasma', 10, 30), span('hold', 30, 40), span('plasma', 40, 45)] },
    };
    expect(told(run, 'stretch/0/time')).toMatchObject({ value: 30, madeOfTotal: 2 });
    expect(told(run, 'stretch/40/time').value).toBe(5);
    expect(told(run, 'phase/plasma').value).toBe(35);
  });

  test('a name that is no number of this run has no explanation, and a run without a record still tells its times', () => {
    const run = given();
    const names = [
      '',
      'energy',
      'figure/none',
      'figure/constructor',
      'stretch/1/time',
      `stretch/${at(230)}/gas.2.flow/mode`,
      'alarm/X',
      'count/x',
      'phase/load',
    ];
    for (const name of names) expect([name, ask(run, name)]).toEqual([name, null]);
    const old = { ...run, record: null };
    expect(ask(old, 'process-time')?.value).toBe(455_000);
    expect(ask(old, 'figure/pump-down')).toBeNull();
  });
});
