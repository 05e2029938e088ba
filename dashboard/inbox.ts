/** What the inbox shows and in which order: what nobody took first, then open and taken, then over; newest first within each. */
import type { Alert, AlertAlarms } from '../src/contract.ts';

export type Show = 'to-do' | 'all';
export type View<A> = { readonly show: Show; readonly named: A | null; readonly now: number };

/** What is over for longer is history, acknowledged or not: a new wall of old news would hide what is new. */
export const RECENT_MS = 24 * 3_600_000;

/** To do is what is open, and what ended lately before anybody took it on. The one that the address names comes before all. */
export function inbox<A extends Alert>(alerts: readonly A[], { show, named, now }: View<A>): readonly A[] {
  const shown = alerts.filter((one) => one.id !== named?.id && (show === 'all' || isToDo(one, now)));
  const sorted = shown.sort((a, b) => urgency(a) - urgency(b) || b.startedAt - a.startedAt);
  return named ? [named, ...sorted] : sorted;
}

function isToDo({ state, acknowledgedAt, closedAt }: Alert, now: number): boolean {
  return state === 'open' || (acknowledgedAt === null && now - (closedAt ?? now) < RECENT_MS);
}

function urgency({ state, acknowledgedAt }: Alert): number {
  if (acknowledgedAt === null) return state === 'open' ? 0 : 1;
  return state === 'open' ? 2 : 3;
}

/** How far above the usual, in words; null when there is no history to compare with. */
export function usualWords({ usual }: AlertAlarms): string {
  if (!usual) return 'not enough history here yet to say what is usual';
  const { per10Min, threshold, observedHours } = usual;
  return `usual here ${per10Min.toFixed(1)} in 10 min, unusual from ${threshold} (${Math.round(observedHours)} h of history)`;
}

/** Who else: for a chamber the others that burst with it, for an operator position the chambers its alarms came from. */
export function othersWords(alert: Alert, nameOf: (chamber: string) => string): string {
  if (alert.chamber === null) return alert.together.map(nameOf).join(', ');
  if (alert.together.length === 0) return 'no other chamber at the same time';
  return `${alert.together.map(nameOf).join(', ')} in the same minutes: look for a common cause`;
}
