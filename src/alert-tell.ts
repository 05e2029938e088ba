/**
 * Who is told of a kind of alert, with nothing left open.
 * [TD1] What a rule leaves out is taken from `alerts.tell`, what that leaves out from the defaults: every route, always, alerts of one kind within
 *       five minutes together, no repeat, no escalation. Whom to tell outside the shifts goes with the shifts.
 */
import type { TellPlan } from './alert-plan.ts';
import type { AlertRules, Tell } from './config-alerts.ts';

export const GROUP_MIN = 5;

type Telling = {
  readonly routes: readonly { readonly name: string }[];
  readonly tell: Tell;
  readonly rules: AlertRules;
};

export function tellPlan({ routes, tell, rules }: Telling, kind: string): TellPlan {
  const own: Tell = Object.entries(rules).find(([name]) => name === kind)?.[1].tell ?? {};
  // Who else is told outside the shifts belongs to the shifts.
  const hours = own.shifts === undefined ? { shifts: tell.shifts, otherwise: own.otherwise ?? tell.otherwise } : own;
  return {
    to: own.to ?? tell.to ?? routes.map(({ name }) => name),
    shifts: hours.shifts ?? 'always',
    otherwise: hours.otherwise ?? [],
    groupMin: own.groupMin ?? tell.groupMin ?? GROUP_MIN,
    repeatMin: own.repeatMin ?? tell.repeatMin ?? null,
    escalate: own.escalate ?? tell.escalate ?? null,
  };
}
