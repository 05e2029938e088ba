/** The order of the inbox: what is open and nobody took first, then open and taken, then closed; newest first within each. */
import type { Alert } from '../src/contract.ts';

export function inboxOrder(alerts: readonly Alert[]): readonly Alert[] {
  return [...alerts].sort((a, b) => urgency(a) - urgency(b) || b.startedAt - a.startedAt);
}

const urgency = (alert: Alert): number => (alert.state === 'closed' ? 2 : alert.acknowledgedAt === null ? 0 : 1);

/** How far above the usual, in words; null when there is no history to compare with. */
export function usualWords(alert: Alert): string {
  if (!alert.usual) return 'not enough history here yet to say what is usual';
  const { per10Min, threshold, observedHours } = alert.usual;
  return `usual here ${per10Min.toFixed(1)} in 10 min, unusual from ${threshold} (${Math.round(observedHours)} h of history)`;
}

/** Who else: for a chamber the others that burst with it, for an operator position the chambers its alarms came from. */
export function othersWords(alert: Alert, nameOf: (chamber: string) => string): string {
  if (alert.chamber === null) return alert.together.map(nameOf).join(', ');
  if (alert.together.length === 0) return 'no other chamber at the same time';
  return `${alert.together.map(nameOf).join(', ')} in the same minutes: look for a common cause`;
}
