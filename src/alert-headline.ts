/**
 * One sentence or two that tell an alert made of alarms to a person.
 * [AH1] It says where, how many in how long, what is usual there, what came first, and who else has it. Of a closed one, that it is over.
 */
import type { Alert, AlertAlarms } from './contract.ts';
import { MINUTE_MS } from './zone.ts';

const NAMED = 4;

type AlarmAlert = Alert & { readonly alarms: AlertAlarms };

export function alertHeadline(alert: AlarmAlert): string {
  const where = alert.chamber ?? alert.position ?? '';
  const { firstOut } = alert.alarms;
  const first = firstOut ? ` First: ${firstOut.text}${alert.chamber ? '' : ` at ${firstOut.chamber}`} (${firstOut.code}).` : '';
  return `${where}: ${howMany(alert)}${first}${whoElse(alert)}`;
}

function howMany({ state, startedAt, updatedAt, alarms: { count, firstOut, usual } }: AlarmAlert): string {
  const alarms = `${count} alarm${count === 1 ? '' : 's'}`;
  const minutes = Math.max(10, Math.ceil((updatedAt - (firstOut?.at ?? startedAt)) / MINUTE_MS));
  if (state === 'closed') return `over. ${alarms} in ${minutes} minutes.`;
  return `${alarms} in ${minutes} minutes${usual ? `, where ${few(usual.per10Min)} in 10 minutes ${usual.per10Min === 1 ? 'is' : 'are'} usual` : ''}.`;
}

function few(per10Min: number): string {
  return per10Min < 0.1 ? 'fewer than 0.1' : per10Min.toFixed(1);
}

function whoElse({ kind, together }: Alert): string {
  if (kind === 'flood') return together.length > 1 ? ` From ${listed(together)}.` : '';
  return together.length > 0 ? ` Within the same minutes: ${listed(together)}.` : '';
}

function listed(names: readonly string[]): string {
  const rest = names.length - NAMED;
  return rest > 0 ? `${names.slice(0, NAMED).join(', ')} and ${rest} more` : names.join(', ');
}
