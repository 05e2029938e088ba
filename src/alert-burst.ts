/**
 * Many alarms at once, of a chamber (burst) or of an operator position (flood): one alert per episode.
 * [AW1] An episode opens when the trailing ten-minute count of a chamber reaches its threshold (burst.ts), of an operator position when it
 *       exceeds 10 (flood rule in the manner of ISA-18.2). Chatter is collapsed in both: one hunting switch is no flood.
 * [AW2] One alert per episode: it is updated while the count grows and closed at the moment the count falls below half the threshold (below 5
 *       where the flood rule opened it). Its id is made of kind, subject and start: the same facts give the same alert.
 * [AW3] Notices, suppressed alarms and alarms found standing do not count.
 * [AW4] The threshold is that of the class (running, not running) the chamber is in when the alarm comes. Without enough history only the
 *       flood rule holds, and the alert says so. What is usual at a position is the sum over its chambers in their present classes.
 * [AW5] `together` names, of a burst, the other chambers whose own episode began within ten minutes of this one's; of a flood, the chambers its
 *       alarms came from.
 * [AW6] The first-out is the earliest alarm of the cluster that opened the episode: going back from the opening alarm, as long as neighbours
 *       are no further apart than twice the mean spacing at the threshold.
 * [AW7] What comes more than ten minutes late is history: it is in the statistics, and wakes nobody.
 * [AW8] Ticks of the clock only make a closing known sooner. They change nothing of what an alert says. The clock of a batch is set back by the
 *       lag that facts may have, so that none on its way finds its window already emptied.
 */
import { isActivation } from './activation.ts';
import { FLOOD_ABOVE, TRAILING_MS } from './alarm-stats.ts';
import {
  chambersOf,
  collapsedInto,
  type Counted,
  expired,
  firstOut,
  grown,
  inserted,
  NOTHING,
  type Subject,
  tallied,
  type Tally,
  topOf,
  withHeadline,
} from './alert-episode.ts';
import { FLOOD_THRESHOLD, LEAST_HISTORY_MS, stateClass, WINDOWS_PER_MONTH } from './burst.ts';
import { newAlert } from './alert-form.ts';
import type { Alert, AlertAlarms } from './contract.ts';
import type { AlarmEvent, EventOf } from './event.ts';
import { scanProbability } from './scan-statistic.ts';
import type { WatchRules } from './watch-rules.ts';
import { DAY_MS } from './zone.ts';

export type BurstState = {
  /** Time of the last tick. */
  readonly now: number;
  /** The run in progress per chamber, null for none, and since when. */
  readonly classes: Readonly<Record<string, { readonly at: number; readonly run: string | null }>>;
  /** Only subjects with an activation in the last ten minutes or an open episode. Keys: 'burst/<chamber>', 'flood/<position>'. */
  readonly subjects: Readonly<Record<string, Subject>>;
  /** When each chamber's last episode began. */
  readonly began: Readonly<Record<string, number>>;
};

export type Bursts = { readonly state: BurstState; readonly alerts: readonly Alert[] };

const WHOLE_HALL = 'the whole hall';

export const NO_BURSTS: BurstState = { now: 0, classes: {}, subjects: {}, began: {} };

/** An alarm, or a state from which the class follows. */
export function burstStep(rules: WatchRules, state: BurstState, input: AlarmEvent | EventOf<'equipment-state'>): Bursts {
  if (input.kind === 'equipment-state') return { state: classed(state, input), alerts: [] };
  return isActivation(input) && input.at > state.now - TRAILING_MS ? activated(rules, state, input) : { state, alerts: [] };
}

/** [AW8] */
export function burstTick(state: BurstState, at: number): Bursts {
  if (at <= state.now) return { state, alerts: [] };
  const alerts: Alert[] = [];
  let subjects = state.subjects;
  for (const [key, subject] of Object.entries(state.subjects)) {
    const step = expired(subject, at);
    const isEmpty = step.subject.recent.length === 0 && step.subject.episode === null;
    if (step.subject === subject && !isEmpty) continue;
    const { [key]: _, ...others } = subjects;
    subjects = isEmpty ? others : { ...others, [key]: step.subject };
    alerts.push(...step.alerts);
  }
  return { state: { ...state, now: at, subjects }, alerts };
}

function classed(state: BurstState, { chamber, at, run }: EventOf<'equipment-state'>): BurstState {
  const known = state.classes[chamber];
  if (known && (at < known.at || known.run === run)) return state;
  return { ...state, classes: { ...state.classes, [chamber]: { at, run } } };
}

function activated(rules: WatchRules, state: BurstState, alarm: AlarmEvent): Bursts {
  const { chamber } = alarm;
  const own = counted(rules, state, { kind: 'burst', name: chamber, alarm, threshold: thresholdFor(rules, state, chamber) });
  const positions = rules.positions.length > 0 ? rules.positions : [{ name: WHOLE_HALL, chambers: rules.chambers }];
  let next = own;
  for (const { name, chambers } of positions) {
    if (!chambers.includes(chamber)) continue;
    const step = counted(rules, next.state, { kind: 'flood', name, alarm, threshold: FLOOD_THRESHOLD, chambers });
    next = { state: step.state, alerts: [...next.alerts, ...step.alerts] };
  }
  return next;
}

/** [AW4] */
function thresholdFor(rules: WatchRules, state: BurstState, chamber: string): number {
  const classes = rules.baselines.get(chamber)?.classes;
  return classes ? classes[stateClass(state.classes[chamber]?.run ?? null)].threshold : FLOOD_THRESHOLD;
}

type Count = {
  readonly kind: 'burst' | 'flood';
  readonly name: string;
  readonly alarm: AlarmEvent;
  readonly threshold: number;
  /** Of the position, where the kind is flood. */
  readonly chambers?: readonly string[];
};

/** One activation at one subject: collapsed into the one before, or counted, perhaps opening an episode. */
function counted(rules: WatchRules, state: BurstState, count: Count): Bursts {
  const key = `${count.kind}/${count.name}`;
  const { subject, alerts } = expired(state.subjects[key] ?? NOTHING, count.alarm.at);
  const merged = collapsedInto(subject, count.alarm);
  if (merged) return { state: withSubject(state, key, merged), alerts };
  const { at, chamber, code, text } = count.alarm;
  const one = { at, chamber, code, text, raw: 1 };
  const recent = inserted(subject.recent, one);
  if (!subject.episode) {
    const step = opened(rules, state, recent, count);
    return { state: withSubject(step.state, key, step.subject), alerts: [...alerts, ...step.alerts] };
  }
  const episode = grown(subject.episode, recent, one);
  return { state: withSubject(state, key, { recent, episode }), alerts: [...alerts, episode.alert] };
}

function withSubject(state: BurstState, key: string, subject: Subject): BurstState {
  return { ...state, subjects: { ...state.subjects, [key]: subject } };
}

type Step = { readonly state: BurstState; readonly subject: Subject; readonly alerts: readonly Alert[] };

function opened(rules: WatchRules, state: BurstState, recent: readonly Counted[], count: Count): Step {
  if (recent.length < count.threshold || !rules.settings[count.kind].on) return { state, subject: { recent, episode: null }, alerts: [] };
  const startedAt = (recent.at(-1) as Counted).at;
  const isBurst = count.kind === 'burst';
  const began = isBurst ? { ...state.began, [count.name]: startedAt } : state.began;
  const tally = recent.reduce<readonly Tally[]>(tallied, []);
  const { rule, usual } = isBurst
    ? burstRule(rules, state, count.name)
    : { usual: usualAt(rules, state, count.chambers ?? []), rule: FLOOD_RULE };
  const alarms = {
    count: recent.length,
    rawCount: recent.reduce((sum, one) => sum + one.raw, 0),
    peak10Min: recent.length,
    usual,
    firstOut: firstOut(recent, count.threshold),
    top: topOf(tally),
  };
  const alert = withHeadline({
    ...newAlert({
      ...{ kind: count.kind, subject: count.name, at: startedAt, severity: rules.settings[count.kind].severity, headline: '', rule },
      ...(isBurst ? { chamber: count.name } : { position: count.name }),
      together: isBurst ? neighbours(began, count.name, startedAt) : chambersOf(tally),
    }),
    alarms,
  });
  const told = isBurst ? joined({ ...state, began }, alert) : { state: { ...state, began }, alerts: [] };
  return { state: told.state, subject: { recent, episode: { alert, threshold: count.threshold, tally } }, alerts: [alert, ...told.alerts] };
}

/** [AW5] Chambers whose last episode began within ten minutes of `at`. */
function neighbours(began: BurstState['began'], chamber: string, at: number): string[] {
  return Object.keys(began)
    .filter((other) => other !== chamber && Math.abs((began[other] as number) - at) <= TRAILING_MS)
    .sort();
}

/** [AW5] The open alerts of the neighbours learn of this one. [AW8] One that is over by now, though no tick said so yet, does not. */
function joined(state: BurstState, { chamber, together, startedAt }: Alert): Bursts {
  let { subjects } = state;
  const alerts: Alert[] = [];
  for (const other of together) {
    const key = `burst/${other}`;
    const known = subjects[key];
    if (!known) continue;
    const step = expired(known, startedAt);
    const { episode } = step.subject;
    alerts.push(...step.alerts);
    if (!episode) {
      subjects = { ...subjects, [key]: step.subject };
      continue;
    }
    const alert = withHeadline({ ...episode.alert, together: [...new Set([...episode.alert.together, chamber as string])].sort() });
    subjects = { ...subjects, [key]: { ...step.subject, episode: { ...episode, alert } } };
    alerts.push(alert);
  }
  return { state: { ...state, subjects }, alerts };
}

const FLOOD_RULE = `more than ${FLOOD_ABOVE} alarms in the trailing 10 minutes (chatter collapsed), in the manner of ISA-18.2`;

/** [AW4] What a position hears in ten minutes; null while one of its chambers has too short a history. */
function usualAt(rules: WatchRules, state: BurstState, chambers: readonly string[]): AlertAlarms['usual'] {
  const classes = chambers.map((chamber) => rules.baselines.get(chamber)?.classes?.[stateClass(state.classes[chamber]?.run ?? null)]);
  if (classes.length === 0 || !classes.every((one) => one !== undefined)) return null;
  const per10Min = classes.reduce((sum, one) => sum + one.per10Min, 0);
  return {
    per10Min,
    threshold: FLOOD_THRESHOLD,
    observedHours: Math.min(...classes.map((one) => one.observedHours)),
    expectedFalsePerMonth: scanProbability(FLOOD_THRESHOLD, per10Min, WINDOWS_PER_MONTH),
  };
}

/** [AW4] */
function burstRule(rules: WatchRules, state: BurstState, chamber: string): { readonly usual: AlertAlarms['usual']; readonly rule: string } {
  const baseline = rules.baselines.get(chamber);
  if (!baseline?.classes) {
    const days = (baseline?.observedDays ?? 0).toFixed(1);
    return {
      usual: null,
      rule: `${FLOOD_RULE}; history too short for a threshold of its own (${days} of ${LEAST_HISTORY_MS / DAY_MS} observed days)`,
    };
  }
  const name = stateClass(state.classes[chamber]?.run ?? null);
  const { per10Min, threshold, observedHours, expectedFalsePerMonth } = baseline.classes[name];
  const words = name === 'running' ? 'while running' : 'while not running';
  const chance = expectedFalsePerMonth < 0.01 ? 'less than 0.01' : `about ${expectedFalsePerMonth.toFixed(2)}`;
  const rule = `${threshold} or more in the trailing 10 minutes ${words} (chatter collapsed): by this chamber's own history chance brings so many ${chance} times in 30 days (scan statistic for alarms that come bunched, negative binomial; docs/alarms.md)`;
  return { usual: { per10Min, threshold, observedHours, expectedFalsePerMonth }, rule };
}
