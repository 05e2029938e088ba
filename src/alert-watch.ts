/**
 * Turns what happens into alerts for people. A pure reducer, run along with the chambers' own: each rule is a small reducer of its own file, this
 * one hands every input to those it concerns and lets time pass for them.
 * [AX1] The same inputs give the same alerts, however the ticks of the clock fall between them: what is due happens at its own moment, before any
 *       later word of its chamber, and before one of another chamber that is later by more than facts may trail.
 * [AX2] What began and was over before anybody could know, more than ten minutes ago, wakes nobody.
 * [AX3] Reasons that people tell and findings are taken when they are told, whatever time they speak of.
 * The state is plain JSON. Who acknowledged an alert is the store's knowledge, never this reducer's.
 */
import { TRAILING_MS } from './alarm-stats.ts';
import { burstStep, burstTick, NO_BURSTS, type BurstState } from './alert-burst.ts';
import {
  BURST,
  causeDue,
  causeOf,
  causeOnAlarm,
  causeOnState,
  causeOver,
  NO_CAUSES,
  triggered,
  type Cause,
  type CauseState,
} from './alert-cause.ts';
import { chatterDue, chatterOnAlarm, chatterOver, type Chatters } from './alert-chatter.ts';
import { covered } from './alert-cover.ts';
import { foundNow, type Findings, type FindingsInput } from './alert-finding.ts';
import { withoutFormer } from './alert-former.ts';
import { type Hold, notYet } from './alert-hold.ts';
import { clockFor, fired, holdsOnAlarm, holdsOnReason, holdsOnState, holdsOnWithdrawn, uncovered, type Holds } from './alert-holds.ts';
import { checkOnEnd, checkOnFinding, checkOnRecord, type CheckedRuns } from './alert-run.ts';
import { silenceFired, silenceOnState, silencesRenewed, type Silences } from './alert-silence.ts';
import type { Alert, AlertAlarms } from './contract.ts';
import type { AlarmEvent, ChamberEvent, EventOf } from './event.ts';
import type { WatchRules } from './watch-rules.ts';
import { MINUTE_MS } from './zone.ts';

export type WatchState = BurstState & {
  readonly holds: Holds;
  readonly silences: Silences;
  readonly chatters: Chatters;
  readonly causes: CauseState;
  readonly runs: CheckedRuns;
  readonly found: Findings;
};

type Tick = { readonly kind: 'tick'; readonly at: number };
export type WatchInput = ChamberEvent | FindingsInput | Tick;
export type Watched = { readonly state: WatchState; readonly alerts: readonly Alert[] };
export type WatchBatch = {
  readonly events: readonly ChamberEvent[];
  readonly findings?: readonly FindingsInput[];
  readonly now: number;
  /** The first one after a start: until now nobody watched. */
  readonly restarted?: boolean;
};

export function initialWatch(): WatchState {
  return { ...NO_BURSTS, holds: {}, silences: {}, chatters: {}, causes: NO_CAUSES, runs: {}, found: {} };
}

const WATCHED = ['alarm', 'equipment-state', 'run-ended', 'run-record', 'finding'];

/** A committed batch and the time it was committed at: each event in order of time, then what was told and found, then the clock. */
export function watchBatch(rules: WatchRules, state: WatchState, batch: WatchBatch): Watched {
  const inputs: WatchInput[] = batch.events.filter(({ kind }) => WATCHED.includes(kind));
  inputs.sort((a, b) => a.at - b.at);
  for (const event of batch.events) if (event.kind === 'reason' || event.kind === 'reason-withdrawn') inputs.push(event);
  inputs.push(...(batch.findings ?? []));
  const latest = new Map<string, Alert>();
  const take = (step: Watched): void => {
    state = step.state;
    for (const alert of step.alerts) latest.set(`${alert.id}/${alert.state}`, alert);
  };
  for (const input of inputs) take(watch(rules, state, input));
  if (batch.restarted === true) state = { ...state, holds: silencesRenewed(rules, state.holds, batch.now) };
  take(watch(rules, state, { kind: 'tick', at: batch.now - rules.lagMs }));
  return { state, alerts: [...latest.values()] };
}

/** One fact, one finding or one tick. `alerts` are those it opened, changed or closed. */
export function watch(rules: WatchRules, state: WatchState, input: WatchInput): Watched {
  switch (input.kind) {
    case 'tick':
      return ticked(rules, state, input.at);
    case 'findings': {
      const { found, alerts } = foundNow(rules, state.found, input);
      return { state: { ...state, found }, alerts };
    }
    case 'reason': {
      const { holds, alerts } = holdsOnReason(rules, state.holds, input);
      return { state: { ...state, holds }, alerts };
    }
    case 'reason-withdrawn':
      return { state: { ...state, holds: holdsOnWithdrawn(rules, state.holds, input) }, alerts: [] };
    default:
      return withoutHistory(state.now, observed(rules, state, input));
  }
}

type Step = (state: WatchState) => Watched;

function chained(state: WatchState, ...steps: readonly Step[]): Watched {
  const alerts: Alert[] = [];
  for (const step of steps) {
    const next = step(state);
    state = next.state;
    alerts.push(...next.alerts);
  }
  return { state, alerts };
}

/** [AX1] */
function observed(rules: WatchRules, state: WatchState, event: ChamberEvent): Watched {
  const before: Step = (s) =>
    chained(
      s,
      (one) => dueUntil(rules, one, { at: event.at - rules.lagMs }),
      (one) => dueUntil(rules, one, { at: event.at, chamber: event.chamber }),
    );
  switch (event.kind) {
    case 'equipment-state':
      return chained(state, before, ...onState(rules, event), reconsidered(event.at));
    case 'alarm':
      return chained(state, before, ...onAlarm(rules, event), reconsidered(event.at));
    case 'run-ended':
      return chained(state, (s) => withRuns(s, checkOnEnd(s.runs, event)));
    case 'run-record':
      return chained(state, (s) => withRuns(s, checkOnRecord(rules, s.runs, event)));
    case 'finding':
      return chained(state, (s) => withRuns(s, checkOnFinding(rules, s.runs, event)));
    default:
      return { state, alerts: [] };
  }
}

const withRuns = (state: WatchState, { runs, alerts }: { runs: CheckedRuns; alerts: readonly Alert[] }): Watched => ({
  state: { ...state, runs },
  alerts,
});

function onState(rules: WatchRules, event: EventOf<'equipment-state'>): readonly Step[] {
  return [
    (s) => merged(s, burstStep(rules, s, event)),
    (s) => {
      const { holds, alerts } = holdsOnState(rules, s.holds, event, firstOutBefore(s, event));
      return { state: { ...s, holds }, alerts };
    },
    (s) => {
      const { alerts, ...rest } = silenceOnState(rules, s, event);
      return { state: { ...s, holds: rest.holds, silences: rest.silences }, alerts };
    },
    (s) => withCauses(s, causeOnState(rules, s.causes, event)),
  ];
}

function onAlarm(rules: WatchRules, event: AlarmEvent): readonly Step[] {
  return [
    (s) => {
      const { chatters, alerts } = chatterOnAlarm(rules, s.chatters, event);
      return { state: { ...s, chatters }, alerts };
    },
    (s) =>
      withCauses(s, causeOnAlarm(rules, s.causes, { ...event, chatters: Boolean(s.chatters[`${event.chamber}/${event.code}`]?.alert) })),
    (s) => burstOnAlarm(rules, s, event),
    (s) => {
      const { holds, alerts } = holdsOnAlarm(rules, s.holds, event);
      return { state: { ...s, holds }, alerts };
    },
  ];
}

const merged = (state: WatchState, { state: bursts, alerts }: { state: BurstState; alerts: readonly Alert[] }): Watched => ({
  state: { ...state, ...bursts },
  alerts,
});

const withCauses = (state: WatchState, { alerts, recent, causes }: CauseState & { alerts: readonly Alert[] }): Watched => ({
  state: { ...state, causes: { recent, causes } },
  alerts,
});

/** A burst that begins may be one chamber's part of a common cause. */
function burstOnAlarm(rules: WatchRules, state: WatchState, event: AlarmEvent): Watched {
  const step = merged(state, burstStep(rules, state, event));
  const { chamber } = event;
  const began = step.state.began[chamber];
  if (began === undefined || began === state.began[chamber]) return step;
  const burst = { at: began, chamber, code: BURST, text: 'an alarm burst' };
  return chained(
    step.state,
    () => step,
    (s) => withCauses(s, triggered(rules, s.causes, burst)),
  );
}

const reconsidered =
  (at: number): Step =>
  (state) =>
    covered(state, at);

/** The earliest alarm of the chamber in the minute before its state turned. */
function firstOutBefore({ subjects }: WatchState, { chamber, at }: EventOf<'equipment-state'>): AlertAlarms['firstOut'] {
  const first = subjects[`burst/${chamber}`]?.recent.find((one) => one.at > at - MINUTE_MS);
  return first === undefined ? null : { chamber, code: first.code, text: first.text, at: first.at };
}

/** [AX1] What falls due, in order of its time; without a chamber, everywhere. What several chambers share is due for each of them. */
type Until = { readonly at: number; readonly chamber?: string };
type Due = { readonly at: number; readonly step: Step };

function dueUntil(rules: WatchRules, state: WatchState, until: Until): Watched {
  const alerts: Alert[] = [];
  for (let due = nextDue(rules, state, until); due !== null; due = nextDue(rules, state, until)) {
    const next = due.step(state);
    state = next.state;
    alerts.push(...next.alerts);
  }
  return { state, alerts };
}

function nextDue(rules: WatchRules, state: WatchState, { at, chamber }: Until): Due | null {
  let first: Due | null = null;
  const offer = (dueAt: number, step: Step): void => {
    if (dueAt <= at && (first === null || dueAt < first.at)) first = { at: dueAt, step };
  };
  for (const cause of state.causes.causes) offer(causeDue(cause), (s) => overCause(rules, s, cause));
  for (const [key, hold] of Object.entries(state.holds))
    if (hold.due !== null && (chamber === undefined || hold.chamber === chamber)) offer(hold.due, (s) => fire(rules, s, key, hold));
  for (const [key, chatter] of Object.entries(state.chatters))
    if (chamber === undefined || key.startsWith(`${chamber}/`)) offer(chatterDue(chatter), (s) => quieted(s, key));
  return first;
}

function overCause(rules: WatchRules, state: WatchState, cause: Cause): Watched {
  const at = causeDue(cause);
  const step = withCauses(state, causeOver(state.causes, cause));
  return { ...step, state: { ...step.state, holds: uncovered(rules, step.state.holds, { chambers: cause.members, at }) } };
}

function fire(rules: WatchRules, state: WatchState, key: string, hold: Hold): Watched {
  const at = hold.due as number;
  const later = notYet(hold, at, clockFor(rules, hold));
  if (later !== null) return { state: { ...state, holds: { ...state.holds, [key]: later } }, alerts: [] };
  if (hold.kind === 'no-data') {
    const { alerts, holds, silences } = silenceFired(rules, state, { hold, at });
    return chained({ ...state, holds, silences }, (s) => ({ state: s, alerts }), reconsidered(at));
  }
  const isCovered = hold.kind === 'down' && causeOf(state.causes, hold.chamber) !== undefined;
  const { hold: next, alerts } = fired(rules, hold, { at, covered: isCovered });
  return { state: { ...state, holds: { ...state.holds, [key]: next } }, alerts };
}

function quieted(state: WatchState, key: string): Watched {
  const { chatters, alerts } = chatterOver(state.chatters, key);
  return { state: { ...state, chatters }, alerts };
}

function ticked(rules: WatchRules, state: WatchState, at: number): Watched {
  if (at <= state.now) return { state, alerts: [] };
  return chained(
    state,
    (s) => withoutFormer(rules, s, at),
    (s) => dueUntil(rules, s, { at }),
    (s) => merged(s, burstTick(s, at)),
  );
}

/** [AX2] */
function withoutHistory(now: number, { state, alerts }: Watched): Watched {
  const old = new Set(alerts.filter((one) => one.state === 'open' && one.startedAt < now - TRAILING_MS).map(({ id }) => id));
  const gone = alerts.filter((one) => one.state === 'closed' && old.has(one.id)).map(({ id }) => id);
  return gone.length === 0 ? { state, alerts } : { state, alerts: alerts.filter(({ id }) => !gone.includes(id)) };
}
