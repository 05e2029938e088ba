/**
 * A stochastic model of a hall's alarms, fast enough for years, and made apart from the burst rule: but for one world, nothing in it is Poisson at a constant rate.
 * - The alarms and their shares are those of the simulator's catalogue; each chamber has a level of its own (log-normal about the world's mean).
 * - Rhythm: two shifts on weekdays, runs of half an hour to an hour; alarms come four times as often in a run as beside one, 2.5 times as often in
 *   the first hour of a shift, and a third as often when nobody is there. Days differ by a gamma factor.
 * - Consequences: one alarm in three brings others within seconds, as a pump trip brings pressure and interlock. Some chatter, quickly (a hunting
 *   match) or slowly (a door or flow switch, one hit in one and a half to three minutes).
 * - The link is lost now and then; what comes meanwhile is not heard.
 * The numbers are common practice without a source, or measured on the prototype (reference shares of chatter); a world changes them.
 */
import { ALARMS } from '../../gateway/simulator/alarm-catalogue.ts';
import type { StateInterval } from '../../src/contract.ts';
import type { AlarmEvent, ChamberEvent } from '../../src/event.ts';
import { random } from '../src/random-history.ts';

export const [SECOND, MINUTE, HOUR, DAY] = [1000, 60_000, 3_600_000, 86_400_000];
export const FROM = Date.UTC(2026, 0, 5);
export type Dice = () => number;

export type World = {
  readonly name: string;
  /** Causes per chamber and day on average, consequences and chatter apart. */
  readonly perDay: number;
  /** Spread of the chambers' levels: sd of the logarithm. */
  readonly spread: number;
  /** Whether the rate follows runs and shifts. */
  readonly rhythm: boolean;
  /** Shape of the gamma factor of a day; null: all days alike. */
  readonly dayShape: number | null;
  /** Chance that a cause brings others, and how many more on average. */
  readonly cascade: { readonly chance: number; readonly more: number };
  /** Chance of quick and of slow chatter. */
  readonly chatter: { readonly quick: number; readonly slow: number };
};

export type Stream = {
  readonly chamber: string;
  readonly days: number;
  /** Ascending. Heard only. */
  readonly alarms: readonly AlarmEvent[];
  readonly intervals: readonly StateInterval[];
};

const exponential = (dice: Dice): number => -Math.log(1 - dice());
const normal = (dice: Dice): number => Math.sqrt(2 * exponential(dice)) * Math.cos(2 * Math.PI * dice());
const between = (dice: Dice, low: number, high: number): number => low + (high - low) * dice();
const geometric = (dice: Dice, mean: number): number => Math.floor(exponential(dice) / Math.log(1 + 1 / mean));

/** Of shape k and mean 1: Marsaglia and Tsang, ACM Trans. Math. Softw. 26 (2000) 363. */
export function gammaFactor(dice: Dice, k: number): number {
  const boost = k < 1 ? (1 - dice()) ** (1 / k) : 1;
  const d = (k < 1 ? k + 1 : k) - 1 / 3;
  for (;;) {
    const x = normal(dice);
    const v = (1 + x / Math.sqrt(9 * d)) ** 3;
    if (v > 0 && Math.log(1 - dice()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return (boost * d * v) / k;
  }
}

export function alarmStream(world: World, chamber: string, { seed, days }: { readonly seed: number; readonly days: number }): Stream {
  const dice = random(seed * 2654435761);
  const intervals = chamberDays(dice, chamber, days);
  const level = Math.exp(world.spread * normal(dice) - world.spread ** 2 / 2);
  const alarms: AlarmEvent[] = [];
  let left = exponential(dice);
  for (const { from, to, weight } of rates(world, intervals, { dice, days })) {
    const perMs = (weight * world.perDay * level) / DAY;
    let at = from;
    while (left < perMs * (to - at)) {
      at += left / perMs;
      alarms.push(...consequences(dice, chamber, at, world));
      left = exponential(dice);
    }
    left -= perMs * (to - at);
  }
  alarms.sort((a, b) => a.at - b.at);
  return { chamber, days, alarms: heard(alarms, intervals), intervals };
}

/** Runs on weekdays from 05 to 21 UTC, a lost link once in ten days. */
function chamberDays(dice: Dice, chamber: string, days: number): StateInterval[] {
  const pieces: { to: number; run: string | null }[] = [];
  for (let day = 0; day < days; day++) {
    const midnight = FROM + day * DAY;
    let at = midnight + 5 * HOUR + between(dice, 0, HOUR);
    while (day % 7 < 5 && at < midnight + 20 * HOUR) {
      pieces.push({ to: at, run: null });
      at += between(dice, 30, 60) * MINUTE;
      pieces.push({ to: at, run: `${chamber}/${at}` });
      at += between(dice, 5, 25) * MINUTE;
    }
    pieces.push({ to: midnight + DAY, run: null });
  }
  return withHoles(dice, chamber, pieces);
}

function withHoles(dice: Dice, chamber: string, pieces: readonly { to: number; run: string | null }[]): StateInterval[] {
  const out: StateInterval[] = [];
  let from = FROM;
  let hole = FROM + 10 * DAY * exponential(dice);
  const push = (to: number, run: string | null, isSeen: boolean): void => {
    const state = !isSeen ? 'unobserved' : run === null ? 'standby' : 'productive';
    const rest = { chamber, reason: '', source: 'signal', entry: null, downtime: null, observed: null } as const;
    if (to > from) out.push({ ...rest, from, to, state, run: isSeen ? run : null });
    from = Math.max(from, to);
  };
  for (const { to, run } of pieces) {
    while (hole < to) {
      push(Math.floor(hole), run, true);
      push(Math.min(to, Math.floor(hole + between(dice, 5, 120) * MINUTE)), run, false);
      hole += 10 * DAY * exponential(dice);
    }
    push(Math.floor(to), run, true);
  }
  return out;
}

/** How often alarms come in each piece of time, mean 1 or so over the days. */
function rates(
  world: World,
  intervals: readonly StateInterval[],
  { dice, days }: { readonly dice: Dice; readonly days: number },
): { from: number; to: number; weight: number }[] {
  const day = Array.from({ length: days }, () => (world.dayShape === null ? 1 : gammaFactor(dice, world.dayShape)));
  const ten = 10 * MINUTE;
  const cut = intervals.flatMap(({ from, to, run }) => {
    const parts: { from: number; to: number; weight: number }[] = [];
    for (let at = from; at < to; at = Math.min(to, Math.floor(at / ten + 1) * ten))
      parts.push({ from: at, to: Math.min(to, Math.floor(at / ten + 1) * ten), weight: world.rhythm ? rhythmAt(at, run !== null) : 1 });
    return parts;
  });
  const mean = cut.reduce((sum, { from, to, weight }) => sum + weight * (to - from), 0) / (days * DAY);
  return cut.map((part) => ({ ...part, weight: (part.weight / mean) * (day[Math.floor((part.from - FROM) / DAY)] as number) }));
}

function rhythmAt(at: number, runs: boolean): number {
  const hour = new Date(at).getUTCHours();
  const isStaffed = hour >= 5 && hour < 21 && Math.floor((at - FROM) / DAY) % 7 < 5;
  const isShiftStart = isStaffed && (hour === 5 || hour === 13);
  return (runs ? 4 : 1) * (isShiftStart ? 2.5 : 1) * (isStaffed ? 1 : 0.33);
}

const CODES = ALARMS.filter(({ severity }) => severity > 100);
const WEIGHTS = CODES.map(({ rate }) => Math.max(0.05, rate));
const TOTAL = WEIGHTS.reduce((a, b) => a + b, 0);

function someCode(dice: Dice): number {
  let left = dice() * TOTAL;
  return Math.max(
    0,
    WEIGHTS.findIndex((weight) => (left -= weight) < 0),
  );
}

/** The alarm itself, what it brings, and how it chatters. */
function consequences(dice: Dice, chamber: string, at: number, { cascade, chatter }: World): AlarmEvent[] {
  const first = someCode(dice);
  const out = [activation(chamber, first, at)];
  const kind = dice();
  if (kind < chatter.quick) out.push(...hits(dice, { chamber, code: first, at, count: geometric(dice, 20), gapS: [2, 20] }));
  else if (kind < chatter.quick + chatter.slow)
    out.push(...hits(dice, { chamber, code: first, at, count: 10 + geometric(dice, 20), gapS: [90, 180] }));
  if (dice() >= cascade.chance) return out;
  let when = at;
  for (let n = 1 + geometric(dice, cascade.more - 1); n > 0; n--) {
    when += 15 * SECOND * exponential(dice);
    out.push(activation(chamber, someCode(dice), when));
  }
  return out;
}

type Hits = { chamber: string; code: number; at: number; count: number; gapS: readonly [number, number] };
function hits(dice: Dice, { chamber, code, at, count, gapS }: Hits): AlarmEvent[] {
  let when = at;
  return Array.from({ length: count }, () => activation(chamber, code, (when += between(dice, ...gapS) * SECOND)));
}

const PRIORITY = { 200: 'low', 500: 'medium', 800: 'high' } as Record<number, AlarmEvent['priority']>;

export function activation(chamber: string, index: number, at: number): AlarmEvent {
  const { code, text, severity } = CODES[index % CODES.length] as (typeof CODES)[number];
  const rest = { notice: false, change: 'activated', counted: true, suppressed: false } as const;
  return { kind: 'alarm', chamber, at: Math.floor(at), code, text, priority: PRIORITY[severity] ?? 'medium', ...rest };
}

/** What came while somebody listened. */
function heard(alarms: readonly AlarmEvent[], intervals: readonly StateInterval[]): AlarmEvent[] {
  let index = 0;
  return alarms.filter(({ at }) => {
    while (index < intervals.length - 1 && (intervals[index] as StateInterval).to <= at) index++;
    return (intervals[index] as StateInterval).state !== 'unobserved';
  });
}

/** As the gateway commits it: states where they begin, and alarms, in order. */
export function factsOf({ chamber, alarms, intervals }: Stream): readonly ChamberEvent[] {
  const states = intervals.map(({ from, state, run, reason }): ChamberEvent => ({
    kind: 'equipment-state',
    chamber,
    at: from,
    state,
    reason,
    source: 'signal',
    run,
  }));
  return [...states, ...alarms].sort((a, b) => a.at - b.at || (a.kind === 'alarm' ? 1 : -1));
}
