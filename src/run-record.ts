/**
 * What proves a run: made once from its own fact and its instruments' words, never from what came later.
 * [RD1] The same run and the same words make the same record, in whatever order they are at hand and however often a value was told again.
 * [RD2] A figure is null when it is not known: its signal is not mapped, or a hole longer than 10 s lies where it is measured.
 * [RD3] Alarms are those that became active during the run, shelved ones and notices left out.
 */
import { deviations } from './run-deviation.ts';
import type { RunRecord } from './run-facts.ts';
import { flowErrors, flowZeros, gasTotals, purgedMs, stabilisation } from './run-gas.ts';
import { runView, type RunRecordInput, type RunView } from './run-record-input.ts';
import { bandsOf, recordStretches, shortened } from './run-record-stretch.ts';
import { dropouts, energyShare, ignitions, litSpans, reflected, runEnergy } from './run-rf.ts';
import { basePressurePa, plasmaPressurePa, pumpDown, purgeMs, riseOfLeakTest, ventMs } from './run-vacuum.ts';

/** Grows with every change to what a figure means. */
const RECORD_RULES = 1;
const MOST_ALARMS = 100;

/** [RD1] */
export function runRecord(input: RunRecordInput): RunRecord {
  const view = runView(input);
  const lit = litSpans(view);
  const bands = bandsOf(view, lit);
  const rf = { ignitions: ignitions(view, lit), dropouts: dropouts(view, lit), reflected: reflected(view, lit) };
  const { ms: stabilisationMs, stable } = stabilisation(view);
  const { run } = input;
  const record = {
    rules: RECORD_RULES,
    stretches: [...recordStretches(view, bands)],
    ...energyOf(view),
    reflectedFraction: shortened(rf.reflected.fraction),
    vswr: shortened(rf.reflected.vswr),
    ignitionDelayMs: rf.ignitions[0]?.lit === true ? rf.ignitions[0].delayMs : null,
    stabilisationMs,
    stableBeforeRf: stable,
    rfDropouts: rf.dropouts?.length ?? null,
    pumpDown: pumpDown(view),
    basePressurePa: shortened(basePressurePa(view), 7),
    plasmaPressurePa: shortened(plasmaPressurePa(view), 7),
    purgeMs: purgeMs(view),
    ventMs: ventMs(view),
    rateOfRisePaPerS: shortened(riseOfLeakTest(view)),
    gases: gasTotals(view).map((gas) => ({ ...gas, mol: shortened(gas.mol), knownMol: shortened(gas.knownMol) })),
    flowZero: flowZeros(view).map(({ line, share }) => ({ line, share: shortened(share) })),
    flowError: flowErrors(view).map(({ line, share }) => ({ line, share: shortened(share) })),
    alarms: alarmsOf(input),
    coverage: run.at > run.startedAt ? run.observedMs / (run.at - run.startedAt) : 1,
    counts: input.counts,
    meters: { pumpS: lastOf(view, 'meter.pumpHours'), rfS: lastOf(view, 'meter.rfHours'), cycles: lastOf(view, 'meter.cycles') },
  };
  const found = {
    view,
    record,
    bands,
    energyShare: energyShare(view, lit),
    reflectedHighMs: rf.reflected.highMs,
    purgedMs: purgedMs(view),
  };
  return { ...record, deviations: [...deviations({ ...found, ignitions: rf.ignitions, dropouts: rf.dropouts })] };
}

function energyOf(view: RunView): Pick<RunRecord, 'energyJ' | 'energyKnownJ' | 'nominalEnergyJ'> {
  const { energyJ, energyKnownJ, nominalEnergyJ } = runEnergy(view);
  return { energyJ: shortened(energyJ), energyKnownJ: shortened(energyKnownJ), nominalEnergyJ: shortened(nominalEnergyJ) };
}

/** [RD3] */
function alarmsOf({ run, alarms }: RunRecordInput): RunRecord['alarms'] {
  const own = alarms.filter(
    ({ change, notice, suppressed, at }) => change === 'activated' && !notice && !suppressed && at >= run.startedAt && at < run.at,
  );
  return own
    .toSorted((a, b) => a.at - b.at || (a.code < b.code ? -1 : 1))
    .slice(0, MOST_ALARMS)
    .map(({ code, text, priority, at }) => ({ code, text, priority, at }));
}

/** [RD2] What a meter said last. */
const lastOf = (view: RunView, meter: 'meter.pumpHours' | 'meter.rfHours' | 'meter.cycles'): number | null =>
  view.pieces(meter, { from: view.whole.to - 1, to: view.whole.to })[0]?.value ?? null;
