/**
 * What a chamber has run since it was first watched: its own counts, which nobody can clear, beside the machine's own meters.
 * [CN1] Pump time is while its pump is known to run, RF time while RF is on, each from the moment it was first seen to the moment it was last seen.
 * [CN2] Time that nobody observed is counted as unobserved and as nothing else; a hole short enough to be bridged counts as if it had not been.
 * [CN3] A run is counted once, when it ends, whatever became of it. The counts are part of the reducer's state: a restart neither loses nor repeats.
 */
import type { Change } from './change.ts';
import type { ChamberState } from './chamber-state.ts';
import type { Flag } from './flag.ts';
import type { RunRecord } from './run-facts.ts';

/** Time counted up to `until`, and since when it is counting now. */
type CountedTime = { readonly totalMs: number; readonly since: number | null; readonly until: number };
export type Counts = {
  readonly pump: CountedTime;
  readonly rf: CountedTime;
  readonly unobserved: CountedTime;
  readonly runs: number;
};

const NOTHING: CountedTime = { totalMs: 0, since: null, until: 0 };
export const NO_COUNTS: Counts = { pump: NOTHING, rf: NOTHING, unobserved: NOTHING, runs: 0 };

/** [CN1] [CN2] [CN3] After everything else of a step was decided. */
export function followCounts({ s, events }: Change): void {
  const { counts, flags } = s;
  const pump = ofFlag(counts.pump, s, flags.pumpStopped, false);
  const rf = ofFlag(counts.rf, s, flags.rf, true);
  const unobserved = ofHoles(counts.unobserved, s);
  const ended = events.filter(({ kind }) => kind === 'run-ended').length;
  if (pump === counts.pump && rf === counts.rf && unobserved === counts.unobserved && ended === 0) return;
  s.counts = { pump, rf, unobserved, runs: counts.runs + ended };
}

/** [CN1] [CN2] A bridged hole goes on where it stopped, because nothing since says otherwise. */
function ofFlag(time: CountedTime, { presence, floor }: ChamberState, flag: Flag, counts: boolean): CountedTime {
  const heard = presence.word === 'heard';
  if (heard && flag.on === counts) return time.since === null ? begun(time, Math.max(flag.since, floor)) : time;
  return ended(time, heard ? flag.since : presence.lostAt);
}

/** [CN2] */
function ofHoles(time: CountedTime, { presence, floor }: ChamberState): CountedTime {
  if (presence.word === 'lost' || presence.word === 'settling') return time.since === null ? begun(time, presence.lostAt) : time;
  return ended(time, floor);
}

const begun = (time: CountedTime, at: number): CountedTime => ({ ...time, since: Math.max(at, time.until) });

function ended(time: CountedTime, at: number): CountedTime {
  if (time.since === null) return time;
  const until = Math.max(at, time.since);
  return { totalMs: time.totalMs + until - time.since, since: null, until };
}

/** As they stand at `at`, which is about now. */
export function countsAt({ counts }: Pick<ChamberState, 'counts'>, at: number): RunRecord['counts'] {
  const total = ({ totalMs, since }: CountedTime): number => totalMs + (since === null ? 0 : Math.max(0, at - since));
  return { pumpMs: total(counts.pump), rfMs: total(counts.rf), runs: counts.runs, unobservedMs: total(counts.unobserved) };
}
