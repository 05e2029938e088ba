/**
 * Who is told of a kind of alert, with nothing left open.
 * [TD1] What a rule leaves out is taken from `alerts.tell`, what that leaves out from the defaults: every route, always (but [TD3]), alerts of one kind within
 *       five minutes together, no escalation. Whom to tell outside the shifts goes with the shifts.
 * [TD2] Whom to escalate to only the site knows. So that nobody has to be right the first time, an alert of high severity is told again every half
 *       hour until somebody acknowledges or takes it, unless the site says how often, or never. Others are not repeated.
 * [TD3] What is of low severity wakes nobody: where the site names no shifts for it, it waits for the day shift, one that begins between five and eleven
 *       in the morning. A site without such a shift is told at any hour. (Common practice, no source.)
 */
import type { TellPlan } from './alert-plan.ts';
import type { Calendar } from './calendar.ts';
import type { AlertRules, Tell } from './config-alerts.ts';
import type { Alert } from './contract.ts';

export const GROUP_MIN = 5;
/** [TD2] */
const HIGH_REPEAT_MIN = 30;
/** [TD3] Local times. */
const DAY_BEGINS = { from: '05:00', to: '11:00' } as const;

type Telling = {
  readonly routes: readonly { readonly name: string }[];
  readonly tell: Tell;
  readonly rules: AlertRules;
  /** By whose names [TD3] finds the day shift. */
  readonly calendar: Pick<Calendar, 'shifts' | 'changes'>;
};

export function tellPlan({ routes, tell, rules, calendar }: Telling, kind: string, severity?: Alert['severity']): TellPlan {
  const own: Tell = Object.entries(rules).find(([name]) => name === kind)?.[1].tell ?? {};
  // Who else is told outside the shifts belongs to the shifts.
  const hours = own.shifts === undefined ? { shifts: tell.shifts, otherwise: own.otherwise ?? tell.otherwise } : own;
  const groupMin = own.groupMin ?? tell.groupMin ?? GROUP_MIN;
  return {
    to: own.to ?? tell.to ?? routes.map(({ name }) => name),
    shifts: hours.shifts ?? (severity === 'low' ? dayShifts(calendar) : 'always'),
    otherwise: hours.otherwise ?? [],
    groupMin,
    repeatMin: repeatMinOf(own.repeatMin ?? tell.repeatMin, { groupMin, severity }),
    escalate: own.escalate ?? tell.escalate ?? null,
  };
}

/** [TD3] */
function dayShifts({ shifts, changes = [] }: Telling['calendar']): TellPlan['shifts'] {
  const all = [...shifts, ...changes.flatMap((change) => change.shifts)];
  const names = all.filter(({ from }) => from >= DAY_BEGINS.from && from < DAY_BEGINS.to).map(({ name }) => name);
  return names.length === 0 ? 'always' : [...new Set(names)];
}

type Pace = { readonly groupMin: number; readonly severity: Alert['severity'] | undefined };

/** [TD2] Not oftener than messages are put together. */
function repeatMinOf(said: Tell['repeatMin'], { groupMin, severity }: Pace): number | null {
  if (said === 'never') return null;
  return said ?? (severity === 'high' ? Math.max(HIGH_REPEAT_MIN, 2 * groupMin) : null);
}
