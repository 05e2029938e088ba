/**
 * A mute: for a time nobody is told of alerts of a kind, of a chamber, of a kind at a chamber, or of a kind where a utility, server or operator
 * position is shared. They stay in the inbox, marked; only telling stops.
 * [MU1] A mute names a kind, a chamber, or both: never everything, because then nobody would hear that the plant burns.
 * [MU2] It says who, why and until when; it ends in the future and at most 30 days ahead. (Common practice of shelving, no source.)
 * [MU3] It holds from its begin, inclusive, to its end, exclusive, or until somebody ends it.
 * [MU4] It covers the alerts of its kind and chamber. A mute of a chamber covers no alert of several chambers or of none.
 * [MU6] One that names what is shared covers only alerts of its kind whose chambers share just that, or that are of that position. When such an
 *       alert grows and comes to share something else, people are told again. A mute that names nothing shared covers its kind wherever.
 * [MU5] Of several that cover an alert, the one that holds longest is told.
 */
import * as z from 'zod/mini';
import { ALERT_KINDS, type Alert } from './contract.ts';
import { Fault } from './fault.ts';
import { DAY_MS, MINUTE_MS } from './zone.ts';

const at = z.int();

export const mute = z.object({
  id: z.int(),
  kind: z.nullable(z.enum(ALERT_KINDS)),
  chamber: z.nullable(z.string()),
  /** As the alert names it: a utility or server that its chambers share, or its operator position. */
  shared: z.nullable(z.string()),
  from: at,
  until: at,
  who: z.string(),
  why: z.string(),
  /** The alert at which it was made; it holds for others like it as well. */
  alert: z.nullable(z.string()),
  endedAt: z.nullable(at),
  endedBy: z.nullable(z.string()),
});
export type Mute = z.infer<typeof mute>;
export type NewMute = Omit<Mute, 'id' | 'endedAt' | 'endedBy'>;

export const LONGEST_MUTE_MS = 30 * DAY_MS;
/** Of plant time; what ends sooner is a slip of the hand. */
const SHORTEST_MS = MINUTE_MS;

/** [MU1] [MU2] The draft itself, or a Fault `invalid` that says what to change. */
export function checkedMute(draft: NewMute): NewMute {
  const wrong = muteFault(draft);
  if (wrong !== null) throw new Fault('invalid', wrong);
  return draft;
}

function muteFault({ kind, chamber, shared, from, until }: NewMute): string | null {
  if (kind === null && chamber === null) return 'Name a kind of alert, a chamber, or both: everything cannot be muted at once.';
  if (shared !== null && (kind === null || chamber !== null))
    return 'A mute of what is shared names the kind of alert as well, and no chamber.';
  if (until <= from) return 'The mute ends in the past. Give it an end that is still to come.';
  if (until - from < SHORTEST_MS) return 'The mute is shorter than a minute.';
  return until - from > LONGEST_MUTE_MS ? 'The mute is longer than 30 days. Mute for less; it can be done again.' : null;
}

/** [MU3] */
export const isMuteOn = ({ from, until, endedAt }: Mute, now: number): boolean => from <= now && now < (endedAt ?? until);

type Muted = Pick<Alert, 'kind' | 'chamber' | 'position' | 'shares'>;

/** What a mute of this alert can name beside its kind; null where it is about one chamber, or nothing is known to be shared. */
export const sharedOf = ({ chamber, position, shares }: Omit<Muted, 'kind'>): string | null =>
  chamber === null ? (position ?? shares) : null;

/** [MU4] [MU6] */
export const covers = (one: Pick<Mute, 'kind' | 'chamber' | 'shared'>, alert: Muted): boolean =>
  (one.kind === null || one.kind === alert.kind) &&
  (one.chamber === null || one.chamber === alert.chamber) &&
  (one.shared === null || one.shared === sharedOf(alert));

/** [MU5] Of mutes that are on, the one by which nobody is told of the alert. */
export function muteOf(alert: Muted, on: readonly Mute[]): Mute | null {
  const covering = on.filter((one) => covers(one, alert));
  return covering.reduce<Mute | null>((longest, one) => (longest === null || one.until > longest.until ? one : longest), null);
}

/** Fails `conflict` for one that is over. */
export function endedMute(one: Mute, { at: now, who }: { readonly at: number; readonly who: string }): Mute {
  if (one.endedBy !== null) throw new Fault('conflict', `${one.endedBy} ended this mute already.`);
  if (now >= one.until) throw new Fault('conflict', 'This mute has run out already.');
  return { ...one, endedAt: now, endedBy: who };
}
