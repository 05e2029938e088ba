/** The run ribbon as numbers: every stretch of a run as a share of the whole, cut at now, so that width is time and the edge is the present. */
import type { Phase } from '../src/equipment.ts';
import type { RunStretch } from '../src/contract.ts';

export type RibbonPiece = {
  readonly key: string;
  readonly phase: Phase;
  readonly step: number | null;
  /** Places in 0..1 of the ribbon. */
  readonly start: number;
  readonly width: number;
  /** How much of the piece lies in the past, 0..1. */
  readonly done: number;
};

export type Ribbon = { readonly pieces: readonly RibbonPiece[]; readonly now: number };

/** Null when there is nothing to draw. */
export function ribbon(stretches: readonly RunStretch[], now: number): Ribbon | null {
  const real = stretches.filter((s) => s.to > s.from);
  const first = real[0];
  if (!first) return null;
  const from = first.from;
  const span = latest(real) - from;
  const pieces = real.map((s, i) => ({
    key: `${i}/${s.phase}`,
    phase: s.phase,
    step: s.step,
    start: (s.from - from) / span,
    width: (s.to - s.from) / span,
    done: clamp((now - s.from) / (s.to - s.from)),
  }));
  return { pieces, now: clamp((now - from) / span) };
}

const latest = (stretches: readonly RunStretch[]): number => Math.max(...stretches.map((s) => s.to));
const clamp = (share: number): number => Math.min(1, Math.max(0, share));
