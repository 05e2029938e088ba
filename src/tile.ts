/**
 * One chamber as the wall shows it.
 * [TL1] State, phase and alarms are the reducer's; the calendar's nonscheduled shows only where nothing runs and the chamber is observed.
 * [TL2] A person is needed, most urgent first: maintenance called when down and not yet serviced, attended on a hold or a high alarm, unloaded
 *       when it stands vented, loaded when idle in scheduled time.
 * [TL3] Nobody is called to a chamber that is unobserved or that maintenance already has.
 * [TL4] The worst alarm is the highest in priority, notices last, the oldest of equals; shelved and suppressed ones do not show.
 * [TL5] The time in a state runs through short holes; a chamber never heard has been in none, whose time is therefore now.
 * [TL6] While it waits to be unloaded the tile shows the last run, whole: its recipe, its load, its stretches.
 * [TL7] What a person told lies over what is observed now, and both are there; not over the unobserved nor over nonscheduled time (reason.ts).
 *       Nobody is called to a downtime that a person already gave a reason for: somebody has seen to it.
 */
import { definitionOf } from './alarm.ts';
import type { ChamberRules } from './chamber-rules.ts';
import type { ChamberState } from './chamber-state.ts';
import type { ChamberTile, StandingAlarm } from './contract.ts';
import { ALARM_PRIORITIES } from './equipment.ts';
import type { EquipmentState } from './equipment.ts';
import { finishedRun, runningRun } from './estimate.ts';
import type { ReasonEvent } from './event.ts';
import { plasmaStepCount } from './plasma-step.ts';

type TileQuestion = {
  readonly rules: ChamberRules;
  readonly state: ChamberState;
  readonly place: { readonly name: string; readonly bay: string; readonly floor: { readonly column: number; readonly row: number } };
  /** Whether the calendar plans work now. */
  readonly scheduledNow: boolean;
  readonly now: number;
  /** The person's word that reaches into now. */
  readonly told: ReasonEvent | null;
  readonly link: ChamberTile['link'];
  readonly skewMs: number | null;
};

/** [TL1]-[TL4] */
export function chamberTile(question: TileQuestion): ChamberTile {
  const { rules, state, place, now, link, skewMs } = question;
  const { equipment, phase, step } = state;
  const since = (at: number): number => (state.presence.word === 'never' ? toMinute(now) : at);
  const shownRun = state.run ?? (phase === 'wait-unload' ? state.lastRun : null);
  const standing = standingAlarms(rules, state);
  const shown = shownState(question);
  return {
    chamber: rules.chamber,
    ...place,
    state: shown.state,
    reason: shown.reason,
    told: shown.told,
    stateSince: since(shown.since),
    phase,
    phaseSince: since(state.phaseSince),
    step,
    stepCount: phase === 'plasma' ? (state.run?.stepCount ?? plasmaStepCount(state.inputs, rules)) : null,
    recipe: shownRun?.recipe ?? state.inputs.recipe,
    need: needOf(question, shown, standing),
    waitingSince: phase === 'wait-unload' && equipment.state !== 'unobserved' ? state.phaseSince : null,
    run: runningRun(state, now) ?? (shownRun && finishedRun(shownRun)),
    alarms: { standing: standing.filter(({ notice }) => !notice).length, worst: standing[0] ?? null },
    heardAt: state.now === 0 ? null : state.now,
    link,
    skewMs,
  };
}

type Shown = Pick<ChamberTile, 'state' | 'reason' | 'told'> & { readonly since: number };

/** [TL1] [TL7] */
function shownState(question: TileQuestion): Shown {
  const { state, reason, heldSince } = question.state.equipment;
  if (isNonscheduled(question)) return { state: 'nonscheduled', reason: 'no shift planned', since: heldSince, told: null };
  const { told } = question;
  if (told === null || state === 'unobserved') return { state, reason, since: heldSince, told: null };
  const { entry, by } = told;
  return { state: told.state, reason: told.reason, since: told.at, told: { entry, by, observed: { state, reason } } };
}

/** [TL5] In whole minutes: time passing alone is no news. */
const toMinute = (at: number): number => at - (at % 60_000);

/** [TL1] The calendar goes before standby and downtime, never before a run or the unknown. */
function isNonscheduled({ state, scheduledNow }: TileQuestion): boolean {
  const { state: held } = state.equipment;
  return !scheduledNow && state.run === null && held !== 'unobserved' && held !== 'productive';
}

/** [TL2] [TL3] */
function needOf(
  { state, scheduledNow }: TileQuestion,
  { state: shown, told }: Shown,
  standing: readonly StandingAlarm[],
): ChamberTile['need'] {
  if (shown === 'unobserved') return null;
  if (told !== null && isDown(shown)) return null;
  const inService = state.mode === 'maintenance' || state.mode === 'service';
  if (shown === 'unscheduled-downtime' && !inService) return 'call-maintenance';
  if (inService) return null;
  if (state.phase === 'hold' || standing.some(({ priority, notice }) => priority === 'high' && !notice)) return 'attend';
  if (state.phase === 'wait-unload') return 'unload';
  return state.phase === 'idle' && scheduledNow && shown === 'standby' ? 'load' : null;
}

const isDown = (state: EquipmentState): boolean => state === 'scheduled-downtime' || state === 'unscheduled-downtime';

/** [TL4] Worst first. */
export function standingAlarms(rules: ChamberRules, state: ChamberState): readonly StandingAlarm[] {
  const rank = (alarm: StandingAlarm): number => (alarm.notice ? ALARM_PRIORITIES.length : ALARM_PRIORITIES.indexOf(alarm.priority));
  return Object.entries(state.alarms)
    .flatMap(([code, { since, suppressed }]) => {
      if (since === null || suppressed) return [];
      const { text, priority, notice } = definitionOf(rules, code);
      return [{ code, text, priority, notice, since }];
    })
    .sort((a, b) => rank(a) - rank(b) || a.since - b.since);
}
