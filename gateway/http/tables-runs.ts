/** The columns of a run with the main figures of its record; empty where a figure is not known, or the run has no record. */
import { RUN_PHASES } from '../../src/equipment.ts';
import type { FoundRun } from '../../src/contract.ts';
import type { RunRecord } from '../../src/run-facts.ts';
import type { RecordedRow } from './answers-port.ts';
import { measured, seconds, utc, type Cell, type Column } from './csv.ts';

const of = (head: string, cell: (run: FoundRun) => Cell): Column<RecordedRow> => ({ head, cell: ({ run }) => cell(run) });
const figure = (head: string, cell: (record: RunRecord) => Cell): Column<RecordedRow> => ({
  head,
  cell: ({ record }) => (record === null ? null : cell(record)),
});

export const RUN_COLUMNS: readonly Column<RecordedRow>[] = [
  of('run', (r) => r.run),
  of('chamber', (r) => r.chamber),
  of('started (UTC)', (r) => utc(r.startedAt)),
  of('ended (UTC)', (r) => utc(r.endedAt)),
  of('outcome', (r) => r.outcome),
  of('recipe', (r) => r.recipe),
  of('load', (r) => r.load),
  of('engineering', (r) => r.engineering),
  of('door closed (UTC)', (r) => utc(r.doorClosedAt)),
  of('duration (s)', (r) => seconds(r.endedAt - r.startedAt)),
  of('observed (s)', (r) => seconds(r.observedMs)),
  ...RUN_PHASES.map((phase) => of(`${phase} (s)`, (r) => seconds(phaseMs(r, phase)))),
  of('deviations', (r) => r.deviations?.join(' ') ?? null),
  figure('delivered RF energy (J)', (r) => measured(r.energyJ)),
  figure('set power from the first call for RF of each step on (J)', (r) => measured(r.nominalEnergyJ)),
  figure('reflected fraction (0..1)', (r) => measured(r.reflectedFraction)),
  figure('ignition delay (s)', (r) => seconds(r.ignitionDelayMs)),
  figure('RF dropouts', (r) => r.rfDropouts),
  figure('gas stable before RF', (r) => r.stableBeforeRf),
  figure('pump-down to 1.9 Torr (s)', (r) => seconds(r.pumpDown.firstMs)),
  figure('pump-down 1.9 to 0.3 Torr (s)', (r) => seconds(r.pumpDown.middleMs)),
  figure('pump-down below 0.3 Torr (s)', (r) => seconds(r.pumpDown.tailMs)),
  figure('lowest pressure before gas (Pa)', (r) => measured(r.basePressurePa)),
  figure('pressure in plasma (Pa)', (r) => measured(r.plasmaPressurePa)),
  figure('rate of rise (Pa/s)', (r) => measured(r.rateOfRisePaPerS)),
  figure('gas totals (mol)', (r) => r.gases.map(({ kind, mol }) => `${kind} ${measured(mol) ?? 'not known'}`).join(', ') || null),
  figure('alarms', (r) => r.alarms.length),
];

/** Null when the run never had this phase: that is not a phase of zero seconds. */
function phaseMs(run: FoundRun, phase: string): number | null {
  const spans = run.phases.filter((p) => p.phase === phase);
  return spans.length === 0 ? null : spans.reduce((sum, p) => sum + p.to - p.from, 0);
}
