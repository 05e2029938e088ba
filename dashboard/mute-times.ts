/** What a mute may be of, and until when it may hold: an hour, the end of the shift, tomorrow at six, or a local time of one's own. All in the site's zone. */
import { sharedOf } from '../src/alert-mute.ts';
import { KIND_WORDS } from '../src/alert-words.ts';
import type { Alert, AlertKind } from '../src/contract.ts';
import { clockOrDay } from './format.ts';
import { atLocalTime, DAY_MS, HOUR_MS, localDay, MINUTE_MS } from '../src/zone.ts';

/** What a person chose; `until` null while that is no time. */
export type Muted = {
  readonly kind: AlertKind | null;
  readonly chamber: string | null;
  readonly shared: string | null;
  readonly until: number | null;
};
type MuteChoice = Omit<Muted, 'until'> & { readonly words: string };

/** What may be muted at an alert, the narrowest first. `name`: of its chamber. */
export function muteChoices(alert: Pick<Alert, 'kind' | 'chamber' | 'position' | 'shares'>, name: string): readonly MuteChoice[] {
  const { kind, chamber } = alert;
  const shared = sharedOf(alert);
  const wherever = { words: `${KIND_WORDS[kind]}, wherever`, kind, chamber: null, shared: null };
  if (chamber !== null)
    return [
      { words: `${KIND_WORDS[kind]} at ${name}`, kind, chamber, shared: null },
      { words: `every alert of ${name}`, kind: null, chamber, shared: null },
      wherever,
    ];
  return shared === null ? [wherever] : [{ words: `${KIND_WORDS[kind]} of ${shared}`, kind, chamber: null, shared }, wherever];
}

/** What is muted, in words. */
export function mutedWords({ kind, chamber, shared }: Omit<Muted, 'until'>, nameOf: (id: string) => string): string {
  const what = kind === null ? 'every alert' : KIND_WORDS[kind];
  if (shared !== null) return `${what} of ${shared}`;
  return chamber === null ? `${what}, wherever` : `${what} ${kind === null ? 'of' : 'at'} ${nameOf(chamber)}`;
}

export type MuteTime = { readonly words: string; readonly until: number };
type Moment = { readonly now: number; readonly zone: string; readonly shiftEnd: number | null };

const MORNING_MIN = 6 * 60;

/** One that would be over within a minute is no choice. */
export function muteTimes({ now, zone, shiftEnd }: Moment): readonly MuteTime[] {
  const morning = atLocalTime(zone, localDay(zone, now) + 1, MORNING_MIN);
  const times = [
    { words: `1 h, until ${clockOrDay(now + HOUR_MS, now, zone)}`, until: now + HOUR_MS },
    ...(shiftEnd === null ? [] : [{ words: `to the end of the shift, ${clockOrDay(shiftEnd, now, zone)}`, until: shiftEnd }]),
    { words: `to tomorrow, ${clockOrDay(morning, now, zone)}`, until: morning },
  ];
  return times.filter(({ until }) => until > now + MINUTE_MS);
}

const LOCAL = /^(\d{4}-\d{2}-\d{2})T(\d{2}):(\d{2})/;

/** What a person entered as date and time, as the site's clocks show it; null for what is no such time. */
export function localMoment(text: string, zone: string): number | null {
  const [, date, hour, minute] = LOCAL.exec(text) ?? [];
  const midnight = Date.parse(`${date ?? ''}T00:00:00Z`);
  if (!Number.isFinite(midnight)) return null;
  return atLocalTime(zone, midnight / DAY_MS, Number(hour) * 60 + Number(minute));
}
