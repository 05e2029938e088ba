/**
 * One subject of the alert watch (a chamber, or an operator position): its activations of the last ten minutes and the episode they make.
 * The rules [AW1], [AW2] and [AW6] are stated in alert-burst.ts.
 */
import { TRAILING_MS } from './alarm-stats.ts';
import { alertHeadline } from './alert-headline.ts';
import { closeBelow, MOST_COUNTED, REFRACTORY_MS } from './burst.ts';
import type { Alert, AlertAlarms } from './contract.ts';
import type { AlarmEvent } from './event.ts';

/** An activation that counts, with the `raw` ones collapsed into it, the last of which came at `lastAt`. */
export type Counted = {
  readonly at: number;
  readonly chamber: string;
  readonly code: string;
  readonly text: string;
  readonly raw: number;
  readonly lastAt?: number;
};
export type Tally = AlertAlarms['top'][number];
/** An alert made of alarms. */
export type AlarmAlert = Alert & { readonly alarms: AlertAlarms };
type Episode = { readonly alert: AlarmAlert; readonly threshold: number; readonly tally: readonly Tally[] };
export type Subject = { readonly recent: readonly Counted[]; readonly episode: Episode | null };

export const NOTHING: Subject = { recent: [], episode: null };
const TOP_SHOWN = 5;

/**
 * Chatter [AW1]: the activation adds to the raw count of one in the last ten minutes that has not kept quiet for a minute since, or of the last one
 * where that alarm counted twice already ([BU1]); null where it counts itself.
 */
export function collapsedInto(subject: Subject, { at, chamber, code }: AlarmEvent): Subject | null {
  const isSame = (one: Counted): boolean => one.chamber === chamber && one.code === code;
  const isFull = subject.recent.filter(isSame).length >= MOST_COUNTED;
  const index = subject.recent.findLastIndex(
    (one) => isSame(one) && (isFull || (at > one.at - REFRACTORY_MS && at < (one.lastAt ?? one.at) + REFRACTORY_MS)),
  );
  if (index < 0) return null;
  const lastAt = Math.max(at, subject.recent[index]?.lastAt ?? at);
  const recent = subject.recent.map((one, i) => (i === index ? { ...one, raw: one.raw + 1, lastAt } : one));
  const { episode } = subject;
  if (!episode) return { recent, episode };
  const { alarms } = episode.alert;
  return { recent, episode: { ...episode, alert: { ...episode.alert, alarms: { ...alarms, rawCount: alarms.rawCount + 1 } } } };
}

export function inserted(recent: readonly Counted[], one: Counted): readonly Counted[] {
  const index = recent.findLastIndex((other) => other.at <= one.at);
  return recent.toSpliced(index + 1, 0, one);
}

/** [AW2] What left the trailing window by `at`, and the closing that caused. */
export function expired(subject: Subject, at: number): { subject: Subject; alerts: readonly Alert[] } {
  const first = subject.recent.findIndex((one) => one.at + TRAILING_MS > at);
  const gone = first < 0 ? subject.recent.length : first;
  if (gone === 0) return { subject, alerts: [] };
  const recent = subject.recent.slice(gone);
  const { episode } = subject;
  if (!episode || recent.length >= closeBelow(episode.threshold)) return { subject: { recent, episode }, alerts: [] };
  // The departure that took the count below the limit: all but `stay` activations had left by then.
  const stay = Math.ceil(closeBelow(episode.threshold)) - 1;
  const closing = subject.recent[subject.recent.length - stay - 1] as Counted;
  const closedAt = closing.at + TRAILING_MS;
  const alert = withHeadline({ ...episode.alert, state: 'closed', updatedAt: closedAt, closedAt });
  return { subject: { recent, episode: null }, alerts: [alert] };
}

/** [AW2] An open episode with one more activation. */
export function grown(episode: Episode, recent: readonly Counted[], one: Counted): Episode {
  const { alert } = episode;
  const { alarms } = alert;
  const tally = tallied(episode.tally, one);
  return {
    ...episode,
    tally,
    alert: withHeadline({
      ...alert,
      updatedAt: Math.max(one.at, alert.updatedAt),
      together: alert.kind === 'flood' ? chambersOf(tally) : alert.together,
      alarms: {
        ...alarms,
        count: alarms.count + 1,
        rawCount: alarms.rawCount + 1,
        peak10Min: Math.max(alarms.peak10Min, recent.length),
        top: topOf(tally),
      },
    }),
  };
}

/** [AW6] */
export function firstOut(recent: readonly Counted[], threshold: number): AlertAlarms['firstOut'] {
  const farthest = (2 * TRAILING_MS) / (threshold - 1);
  let index = recent.length - 1;
  while (index > 0 && (recent[index] as Counted).at - (recent[index - 1] as Counted).at <= farthest) index--;
  const { chamber, code, text, at } = recent[index] as Counted;
  return { chamber, code, text, at };
}

export function tallied(tally: readonly Tally[], { chamber, code, text }: Counted): readonly Tally[] {
  const index = tally.findIndex((one) => one.chamber === chamber && one.code === code);
  if (index < 0) return [...tally, { chamber, code, text, count: 1 }];
  return tally.map((one, i) => (i === index ? { ...one, count: one.count + 1 } : one));
}

export const topOf = (tally: readonly Tally[]): AlertAlarms['top'] => tally.toSorted((a, b) => b.count - a.count).slice(0, TOP_SHOWN);

/** [AW5] The chambers that a flood's alarms came from. */
export const chambersOf = (tally: readonly Tally[]): string[] => [...new Set(tally.map((one) => one.chamber))].sort();

export const withHeadline = (alert: AlarmAlert): AlarmAlert => ({ ...alert, headline: alertHeadline(alert) });
