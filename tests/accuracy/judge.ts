/**
 * The judge: what the reducer said of each chamber against what the plant really did. Knows both records and nothing of the rules.
 * A boundary inside, or within 15 s after, a stretch in which the chamber was not heard cannot be known and is counted apart.
 */
import type { TruthLine } from '../../gateway/simulator/plant-port.ts';
import type { ChamberEvent, EventOf, RunEnded } from '../../src/event.ts';
import type { Hole } from './plant-feed.ts';

type TruthOf<K extends TruthLine['kind']> = Extract<TruthLine, { kind: K }>;
export type Errors = Map<string, number[]>;
export type Verdict = {
  runsTrue: number;
  found: number;
  missed: string[];
  invented: string[];
  /** Starts that fell shut within the second, before anything was pumped: the plant counts them, nobody else would. */
  neverPumped: number;
  outcomeRight: number;
  outcomeWrong: string[];
  /** Error in ms of the beginning of each phase, and of the run's end. */
  errors: Errors;
  inHoles: number;
  /** Boundaries that no signal shows (see `NoSignalTells`), not judged. */
  unseen: number;
  unmatched: string[];
  stateMs: { agreed: number; differed: number; unobserved: number; differences: Map<string, number> };
  alarms: { real: number; matched: number; invented: number };
  findings: Map<string, number>;
};

export type Record = {
  readonly truth: readonly TruthLine[];
  readonly events: readonly ChamberEvent[];
  readonly holes: readonly Hole[];
  readonly from: number;
  readonly to: number;
};

/** Whether a stretch after `before` begins and ends without any signal to tell it by. */
export type NoSignalTells = (stretch: TruthOf<'phase'>, before: string | null) => boolean;

const HOLE_TAIL_MS = 15_000;
/** What ends in the story's last seconds cannot have been told yet. */
const STORY_TAIL_MS = 10_000;

export function judge(record: Record, chamber: string, unseen: NoSignalTells): Verdict {
  const told = record.to - STORY_TAIL_MS;
  const lines = record.truth.filter((line) => 'chamber' in line && line.chamber === chamber && !(line.kind === 'run' && line.to > told));
  const events = record.events.filter((event) => event.chamber === chamber && !(event.kind === 'run-ended' && event.at > told));
  const holes = record.holes.filter((hole) => hole.chamber === chamber);
  const verdict: Verdict = {
    runsTrue: 0,
    found: 0,
    neverPumped: 0,
    missed: [],
    invented: [],
    outcomeRight: 0,
    outcomeWrong: [],
    errors: new Map(),
    inHoles: 0,
    unseen: 0,
    unmatched: [],
    stateMs: { agreed: 0, differed: 0, unobserved: 0, differences: new Map() },
    alarms: { real: 0, matched: 0, invented: 0 },
    findings: new Map(),
  };
  judgeRuns(verdict, { lines, events, holes, unseen });
  judgeStates(verdict, lines, events, record);
  judgeAlarms(verdict, lines, events, holes);
  for (const event of events) if (event.kind === 'finding') verdict.findings.set(event.code, (verdict.findings.get(event.code) ?? 0) + 1);
  return verdict;
}

type Sides = {
  lines: readonly TruthLine[];
  events: readonly ChamberEvent[];
  holes: readonly Hole[];
  unseen: NoSignalTells;
};

function judgeRuns(verdict: Verdict, sides: Sides): void {
  const real = sides.lines.filter((line): line is TruthOf<'run'> => line.kind === 'run');
  const phases = sides.lines.filter((line): line is TruthOf<'phase'> => line.kind === 'phase');
  const said = sides.events.filter((event): event is RunEnded => event.kind === 'run-ended');
  const taken = new Set<RunEnded>();
  for (const run of real) {
    const inside = phases.filter(({ from, to }) => from >= run.from && to <= run.to);
    if (inside[0]?.phase !== 'pump-down') {
      verdict.neverPumped++;
      continue;
    }
    verdict.runsTrue++;
    const match = said.find(
      (each) =>
        !taken.has(each) && 2 * overlap(each.startedAt, each.at, run.from, run.to) > Math.max(run.to - run.from, each.at - each.startedAt),
    );
    const text = `${run.chamber} ${new Date(run.from).toISOString()} ${run.recipe} ${run.outcome}`;
    if (!match) {
      verdict.missed.push(text);
      continue;
    }
    taken.add(match);
    verdict.found++;
    if (match.outcome === run.outcome || (match.outcome === 'not-fully-observed' && hidden(sides.holes, run.from, run.to)))
      verdict.outcomeRight++;
    else verdict.outcomeWrong.push(`${text}, said ${match.outcome}`);
    if (match.engineering !== run.engineering) verdict.outcomeWrong.push(`${text}, said engineering ${match.engineering}`);
    // Struck twice, a hung chamber still hangs: two lines of one phase make no boundary.
    const boundaries = inside.filter((line, i) => line.phase !== inside[i - 1]?.phase || line.step !== inside[i - 1]?.step);
    judgeBoundaries(verdict, boundaries, match, sides);
  }
  for (const each of said)
    if (!taken.has(each)) verdict.invented.push(`${each.run} ${each.outcome} ${((each.at - each.startedAt) / 1000).toFixed(0)} s`);
}

function judgeBoundaries(verdict: Verdict, real: readonly TruthOf<'phase'>[], said: RunEnded, { holes, unseen }: Sides): void {
  const note = (key: string, truth: number, error: number | null): void => {
    if (hidden(holes, truth, truth)) verdict.inHoles++;
    else if (error === null) verdict.unmatched.push(`${said.run} ${key} at ${new Date(truth).toISOString()}`);
    else verdict.errors.set(key, [...(verdict.errors.get(key) ?? []), error]);
  };
  real.forEach((stretch, i) => {
    const { phase, step, from } = stretch;
    if (unseen(stretch, real[i - 1]?.phase ?? null)) {
      verdict.unseen++;
      return;
    }
    const spans = said.phases.filter((span) => span.phase === phase && span.step === step);
    const nearest = spans.sort((a, b) => Math.abs(a.from - from) - Math.abs(b.from - from))[0];
    note(step !== null && step > 1 ? 'next plasma step' : phase, from, nearest ? nearest.from - from : null);
  });
  const end = real.at(-1)?.to;
  if (end !== undefined) note('end of run', end, said.at - end);
}

const hidden = (holes: readonly Hole[], from: number, to: number): boolean =>
  holes.some((hole) => hole.from - 3_000 <= to && from <= hole.to + HOLE_TAIL_MS);
const overlap = (a: number, b: number, c: number, d: number): number => Math.max(0, Math.min(b, d) - Math.max(a, c));

/** Second by second; the calendar's nonscheduled time is laid over later and not the reducer's, so it is left out. */
function judgeStates(verdict: Verdict, lines: readonly TruthLine[], events: readonly ChamberEvent[], { to }: Record): void {
  const said = events
    .filter((event): event is EventOf<'equipment-state'> => event.kind === 'equipment-state')
    .toSorted((a, b) => a.at - b.at);
  const spans = said.map((event, i) => ({ ...event, from: event.at, to: said[i + 1]?.at ?? to }));
  for (const line of lines) {
    if (line.kind !== 'state' || line.state === 'nonscheduled') continue;
    for (const span of spans) {
      const ms = overlap(span.from, span.to, line.from, line.to);
      if (ms === 0) continue;
      if (span.state === 'unobserved') verdict.stateMs.unobserved += ms;
      else if (span.state === line.state) verdict.stateMs.agreed += ms;
      else {
        verdict.stateMs.differed += ms;
        const key = `${line.state} (${line.reason}) said ${span.state} (${span.reason})`;
        verdict.stateMs.differences.set(key, (verdict.stateMs.differences.get(key) ?? 0) + ms);
      }
    }
  }
}

function judgeAlarms(verdict: Verdict, lines: readonly TruthLine[], events: readonly ChamberEvent[], holes: readonly Hole[]): void {
  const said = events.filter((event): event is EventOf<'alarm'> => event.kind === 'alarm' && event.change === 'activated' && event.counted);
  const taken = new Set<ChamberEvent>();
  for (const line of lines) {
    if (line.kind !== 'alarm' || hidden(holes, line.from, line.from)) continue;
    verdict.alarms.real++;
    const match = said.find((event) => !taken.has(event) && event.code === line.code && Math.abs(event.at - line.from) <= 1_000);
    if (match) taken.add(match);
    if (match) verdict.alarms.matched++;
  }
  // The plant writes an alarm down when it ends: one that still stands at the end of the story is not in its record yet.
  const ended = (begun: EventOf<'alarm'>): boolean =>
    events.some((event) => event.kind === 'alarm' && event.change === 'cleared' && event.code === begun.code && event.at >= begun.at);
  verdict.alarms.invented = said.filter((event) => !taken.has(event) && ended(event) && !hidden(holes, event.at, event.at)).length;
}

export function merged(verdicts: readonly Verdict[]): Verdict {
  const sum = (of: (v: Verdict) => number): number => verdicts.reduce((total, each) => total + of(each), 0);
  const errors: Errors = new Map();
  const differences = new Map<string, number>();
  const findings = new Map<string, number>();
  for (const each of verdicts) {
    for (const [key, values] of each.errors) errors.set(key, [...(errors.get(key) ?? []), ...values]);
    for (const [code, count] of each.findings) findings.set(code, (findings.get(code) ?? 0) + count);
    for (const [key, ms] of each.stateMs.differences) differences.set(key, (differences.get(key) ?? 0) + ms);
  }
  return {
    runsTrue: sum((v) => v.runsTrue),
    found: sum((v) => v.found),
    neverPumped: sum((v) => v.neverPumped),
    missed: verdicts.flatMap((v) => v.missed),
    invented: verdicts.flatMap((v) => v.invented),
    outcomeRight: sum((v) => v.outcomeRight),
    outcomeWrong: verdicts.flatMap((v) => v.outcomeWrong),
    errors,
    inHoles: sum((v) => v.inHoles),
    unseen: sum((v) => v.unseen),
    unmatched: verdicts.flatMap((v) => v.unmatched),
    stateMs: {
      agreed: sum((v) => v.stateMs.agreed),
      differed: sum((v) => v.stateMs.differed),
      unobserved: sum((v) => v.stateMs.unobserved),
      differences,
    },
    alarms: { real: sum((v) => v.alarms.real), matched: sum((v) => v.alarms.matched), invented: sum((v) => v.alarms.invented) },
    findings,
  };
}
