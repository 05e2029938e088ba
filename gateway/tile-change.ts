/**
 * Whether a screen would look different. Time passing is no change: the screens count by themselves. What drifts with time alone (age of
 * data, a forecast that is overdue, a share of a running shift) counts as changed only when it moved by an amount that can be seen.
 */
import type { ChamberTile, FleetStrip } from '../src/contract.ts';

const AGE_STEP_MS = 3_000;
const FORECAST_STEP_MS = 10_000;
const SKEW_STEP_MS = 100;
const SHARE_STEPS = 1_000;

/** Equal texts: nothing to show. `speed` is plant time per real time. */
export function tileFace(tile: ChamberTile, speed: number): string {
  const age = tile.heardAt === null ? null : Math.floor(tile.heardAt / (AGE_STEP_MS * speed));
  const skew = tile.skewMs === null ? null : Math.round(tile.skewMs / SKEW_STEP_MS);
  return JSON.stringify({ ...tile, heardAt: age, skewMs: skew, run: runFace(tile.run, FORECAST_STEP_MS * speed) });
}

export function stripFace(strip: FleetStrip, speed: number): string {
  const step = FORECAST_STEP_MS * speed;
  const shift = strip.shift && {
    ...strip.shift,
    utilization: [strip.shift.utilization.value, strip.shift.utilization.coverage].map(thousandths),
    usual: strip.shift.usual && { ...strip.shift.usual, utilization: thousandths(strip.shift.usual.utilization) },
  };
  return JSON.stringify({ ...strip, shift, nextToFinish: strip.nextToFinish.map(({ chamber, at }) => [chamber, Math.round(at / step)]) });
}

/** The running stretch ends now and the next begins now: both move with the clock and are left out. */
function runFace(run: ChamberTile['run'], step: number): unknown {
  if (run === null) return null;
  const finish = run.finish && {
    ...run.finish,
    early: Math.round(run.finish.early / step),
    likely: Math.round(run.finish.likely / step),
    late: Math.round(run.finish.late / step),
  };
  const stretches = run.stretches.map((s) => [s.phase, s.step, s.expected, s.expected ? Math.round(s.to / step) : s.from]);
  return { ...run, finish, stretches };
}

const thousandths = (share: number | null): number | null => (share === null ? null : Math.round(share * SHARE_STEPS));
