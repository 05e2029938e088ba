/** The inbox's order: what needs me now, what others have in hand, what nobody is told of, what is over. Worst first in each, then newest. */
import type { InboxAlert } from '../src/alert-inbox.ts';
import type { Alert, AlertAlarms, AlertBrief, Severity } from '../src/contract.ts';

type Viewer = { readonly me: string; readonly now: number };

const GROUPS = ['new', 'yours', 'missed', 'seen', 'others', 'part', 'muted', 'over'] as const;
export type Group = (typeof GROUPS)[number];
export const GROUP_WORDS: Readonly<Record<Group, string>> = {
  new: 'Nobody has seen it yet',
  yours: 'You work on it',
  missed: 'Over before anybody saw it',
  seen: 'Seen, nobody works on it',
  others: 'Others work on it',
  part: 'Told with a wider alert',
  muted: 'Muted',
  over: 'Over',
};

type Inboxed = Pick<AlertBrief, 'state' | 'acknowledgedBy' | 'takenBy' | 'partOf' | 'mutedUntil'>;
const RANK: Readonly<Record<Severity, number>> = { high: 0, medium: 1, low: 2 };

const isMuted = ({ mutedUntil }: Pick<Inboxed, 'mutedUntil'>, now: number): boolean => mutedUntil !== null && now < mutedUntil;

export function groupOf(one: Inboxed, { me, now }: Viewer): Group {
  // Who saw the wider alert saw this one as well.
  const isUnseen = one.acknowledgedBy === null && one.takenBy === null && one.partOf === null;
  if (one.state === 'closed') return isUnseen ? 'missed' : 'over';
  if (one.takenBy !== null) return one.takenBy === me ? 'yours' : 'others';
  if (isMuted(one, now)) return 'muted';
  if (one.acknowledgedBy !== null) return 'seen';
  return one.partOf === null ? 'new' : 'part';
}

/** Open alerts that call for this person: nobody saw them, or they are this person's. */
export const needsMe = <A extends Inboxed>(alerts: readonly A[], viewer: Viewer): readonly A[] =>
  alerts.filter((one) => ['new', 'yours'].includes(groupOf(one, viewer)));

const inboxed = (row: InboxAlert): Inboxed => ({ ...row, mutedUntil: row.mute?.until ?? null });

type Section = { readonly group: Group; readonly alerts: readonly InboxAlert[] };

/** Groups that hold something, in their order. */
export function sections(rows: readonly InboxAlert[], viewer: Viewer): readonly Section[] {
  const byGroup = Map.groupBy(rows, (row) => groupOf(inboxed(row), viewer));
  return GROUPS.flatMap((group) => {
    const alerts = byGroup.get(group);
    return alerts ? [{ group, alerts: alerts.toSorted((a, b) => RANK[a.severity] - RANK[b.severity] || b.startedAt - a.startedAt) }] : [];
  });
}

/** What the page lets through; everything by default. `mine`: taken by me, or nobody's. */
export type Choice = { readonly kind: Alert['kind'] | ''; readonly chamber: string; readonly mine: boolean };

export const isChosen = (row: InboxAlert, { kind, chamber, mine }: Choice, me: string): boolean =>
  (kind === '' || row.kind === kind) &&
  (chamber === '' || row.chamber === chamber || row.together.includes(chamber)) &&
  (!mine || row.takenBy === me);

/** How far above the usual, in words; null when there is no history to compare with. */
export function usualWords({ usual }: AlertAlarms): string {
  if (!usual) return 'not enough history here yet to say what is usual';
  const { per10Min, threshold, observedHours } = usual;
  return `usual here ${per10Min.toFixed(1)} in 10 min, unusual from ${threshold} (${Math.round(observedHours)} h of history)`;
}

/** Who else: for a chamber the others that burst with it, for an alert about several those chambers. */
export function othersWords(alert: Alert, nameOf: (chamber: string) => string): string {
  if (alert.chamber === null) return alert.together.map(nameOf).join(', ');
  if (alert.together.length === 0) return 'no other chamber at the same time';
  return `${alert.together.map(nameOf).join(', ')} in the same minutes: look for a common cause`;
}

/** Whom it is about. */
export const subjectOf = (alert: Pick<Alert, 'kind' | 'chamber' | 'position' | 'together'>, nameOf: (chamber: string) => string): string =>
  alert.chamber !== null
    ? nameOf(alert.chamber)
    : (alert.position ??
      (alert.together.length > 0 ? `${alert.together.length} chambers` : alert.kind === 'gateway' ? 'Gateway' : 'Fleet'));

/** Its headline where its subject, and whether it is over, stand beside it already. */
export function saidOf({ headline }: Pick<Alert, 'headline'>, subject: string): string {
  const said = headline.startsWith(`${subject}: `) ? headline.slice(subject.length + 2) : headline;
  return said.replace(/^over\. (?=.)/, '');
}
