/**
 * The run ribbon as numbers: every stretch of a run as a share of the whole, cut at now, so that width is time and the edge is the present.
 * What the chamber says it does goes before the clock: a stretch that takes longer than expected holds the edge at its end.
 * Time that nobody observed is told apart, whatever stretch it lies in.
 */
import type { Span } from '../src/calendar.ts';
import type { Phase } from '../src/equipment.ts';
import type { RunStretch } from '../src/contract.ts';

export type Doing = { readonly phase: Phase; readonly step: number | null };
type RunStep = Doing & { readonly from: number; readonly to: number; readonly when: 'past' | 'now' | 'ahead' };

type RibbonPiece = {
  readonly key: string;
  readonly phase: Phase;
  readonly step: number | null;
  /** Places in 0..1 of the ribbon. */
  readonly start: number;
  readonly width: number;
  /** How much of the piece lies in the past, 0..1. */
  readonly done: number;
};

/** `unseen`: places of what nobody observed. */
export type Ribbon = {
  readonly pieces: readonly RibbonPiece[];
  readonly unseen: readonly { readonly start: number; readonly width: number }[];
  readonly now: number;
};
/** What a ribbon is drawn of. */
export type DrawnRun = { readonly stretches: readonly RunStretch[]; readonly holes: readonly Span[] };

/** The stretches as steps: what was done of the running one and what is expected of it are one step. */
export function runSteps(stretches: readonly RunStretch[], doing: Doing): RunStep[] {
  const steps: RunStep[] = [];
  for (const { phase, step, from, to, expected } of stretches) {
    const last = steps.at(-1);
    if (last && isSame(last, { phase, step }) && last.to === from) steps[steps.length - 1] = { ...last, to };
    else if (to > from || !expected) steps.push({ phase, step, from, to, when: expected ? 'ahead' : 'past' });
  }
  const running = steps.findLastIndex((step) => step.when === 'past');
  return steps.map((step, i) => (i === running && isSame(step, doing) ? { ...step, when: 'now' } : step));
}

/** Null when there is nothing to draw. */
export function ribbon({ stretches, holes }: DrawnRun, now: number, doing: Doing): Ribbon | null {
  const steps = runSteps(stretches, doing).filter((step) => step.to > step.from);
  const first = steps[0];
  const last = steps.at(-1);
  if (!first || !last) return null;
  const span = last.to - first.from;
  const pieces = steps.map((step, i) => ({
    key: `${i}/${step.phase}`,
    phase: step.phase,
    step: step.step,
    start: (step.from - first.from) / span,
    width: (step.to - step.from) / span,
    done: step.when === 'past' ? 1 : step.when === 'ahead' ? 0 : clamp((now - step.from) / (step.to - step.from)),
  }));
  const inked = pieces.findLast((piece) => piece.done > 0);
  const unseen = holes
    .map(({ from, to }) => ({ from: Math.max(from, first.from), to: Math.min(to, last.to) }))
    .filter(({ from, to }) => to > from)
    .map(({ from, to }) => ({ start: (from - first.from) / span, width: (to - from) / span }));
  return { pieces, unseen, now: inked ? inked.start + inked.width * inked.done : 0 };
}

const isSame = (a: Doing, b: Doing): boolean => a.phase === b.phase && a.step === b.step;
const clamp = (share: number): number => Math.min(1, Math.max(0, share));
