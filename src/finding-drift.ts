/**
 * Drift as findings for the alert watch: the same verdicts and causes that the drift page shows.
 * [DG1] One finding per chamber and figure that has shifted. An odd run, and a figure still learned, are none.
 * [DG3] Where no cause fits the pattern it says what a shift of that figure most often is, as advice (drift-usual-cause.ts), with its first check.
 * [DG2] It says the size against the chamber's own usual, since when and for how many runs, what the pattern points to with the evidence for and
 *       against, what is not known yet, and the first check. What cannot be seen at all is said as well.
 */
import type { Finding } from './alert-finding.ts';
import { momentWords } from './alert-form.ts';
import type { DriftCell, DriftFleet } from './drift-answer.ts';
import { noPatternText, usualCause } from './drift-usual-cause.ts';

/** [DG1]-[DG3] */
export function driftFindings({ chambers, notCheckable }: Pick<DriftFleet, 'chambers' | 'notCheckable'>, zone: string): readonly Finding[] {
  return chambers.flatMap(({ chamber, cells, pointsTo }) =>
    cells
      .filter(({ state }) => state === 'shifted')
      .map((cell) => driftFinding({ chamber, cell, cause: pointsTo?.causes[0] ?? null, zone, notCheckable })),
  );
}

type Cause = NonNullable<DriftFleet['chambers'][number]['pointsTo']>['causes'][number];
type Shifted = {
  readonly chamber: string;
  readonly cell: DriftCell;
  readonly cause: Cause | null;
  readonly zone: string;
  readonly notCheckable: string;
};

function driftFinding({ chamber, cell, cause, zone, notCheckable }: Shifted): Finding {
  const { name, recipe, gas, sentence, since, runsSince } = cell;
  const of = recipe === null ? '' : ` with ${recipe}`;
  const usual = cause === null ? usualCause(name, (cell.value ?? 0) - (cell.usual ?? 0)) : null;
  const points = cause === null ? noPatternText(usual) : `It points to ${cause.cause}.`;
  const list = (label: string, values: readonly string[]): Finding['facts'] => values.map((value) => ({ label, value }));
  return {
    subject: `${chamber} ${name}${gas === null ? '' : ` ${gas}`}`,
    chamber,
    headline: `${chamber}: ${(sentence ?? '').replace(/\.$/, '')}${of}. ${points}`,
    over: `${chamber}: over. ${labelOf(cell)} is back to its usual, or its baseline began anew after maintenance.`,
    rule: 'a shift against the chamber’s own baseline (control chart of its runs; docs/drift.md); alerts.rules.drift',
    cure: cause?.firstCheck ?? usual?.firstCheck ?? 'Look at the chamber’s drift page for what else has moved.',
    cause: cause?.cause ?? null,
    facts: [
      ...list('Size', cell.size === null ? [] : [cell.size]),
      ...list('Since', since === null ? [] : [`${momentWords(since, zone)}, ${runsSince ?? 0} ${runsSince === 1 ? 'run' : 'runs'}`]),
      ...list('For it', cause?.evidence ?? []),
      ...list('Against it', cause?.against ?? []),
      ...list('Not known yet', cause?.open ?? []),
      ...list('Not checkable', [notCheckable]),
    ],
  };
}

const labelOf = ({ sentence, name }: DriftCell): string => /^[^0-9]+?(?= [\d−-])/.exec(sentence ?? '')?.[0] ?? name;
