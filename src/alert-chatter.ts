/**
 * An alarm that comes and goes: one alert for as long as it does, with the delay that would have spared it.
 * [CK1] It chatters when it came three times within a minute (in the manner of ISA-18.2), or ten times within an hour with a median active time
 *       under ten seconds (own rule, for slow chatterers). The numbers are the site file's.
 * [CK2] One alert per episode: it counts on, and is over when the alarm did not come for a shift (eight hours), at the moment of its last word: one
 *       alert per alarm and shift is enough.
 * [CK3] Its cure is the delay that its own last activations ask for (alarm-delay.ts), at most two hundred of them.
 * [CK4] Notices, suppressed alarms and those found standing do not count. What nobody saw clear has no active time.
 */
import { isActivation } from './activation.ts';
import { delayAdvice } from './alarm-delay.ts';
import { medianActiveMs } from './alarm-chatter.ts';
import { ended, lengthWords, newAlert } from './alert-form.ts';
import type { AlarmAlert } from './alert-episode.ts';
import type { Alert } from './contract.ts';
import type { AlarmEvent } from './event.ts';
import type { WatchRules } from './watch-rules.ts';
import { HOUR_MS } from './zone.ts';

export type Bout = { readonly from: number; readonly to: number; readonly isKnown: boolean };
/** Of one alarm: its activations of the last hour, and the episode. */
export type Chatter = { readonly bouts: readonly Bout[]; readonly alert: AlarmAlert | null };
/** Keys: `<chamber>/<code>`; only alarms that came within the last hour or are in an episode. */
export type Chatters = Readonly<Record<string, Chatter>>;
type ChatterNews = { readonly chatters: Chatters; readonly alerts: readonly Alert[] };

export const QUIET_MS = 8 * HOUR_MS;
const KEPT = 200;

export const chatterDue = ({ bouts, alert }: Chatter): number => (bouts.at(-1)?.from ?? 0) + (alert === null ? HOUR_MS : QUIET_MS);

/** [CK1] [CK4] */
export function chatterOnAlarm(rules: WatchRules, chatters: Chatters, event: AlarmEvent): ChatterNews {
  const key = `${event.chamber}/${event.code}`;
  const known = chatters[key];
  if (event.change === 'cleared' && known !== undefined) {
    const last = known.bouts.at(-1) as Bout;
    if (last.isKnown) return { chatters, alerts: [] };
    const bouts = known.bouts.with(-1, { ...last, to: event.at, isKnown: true });
    return { chatters: { ...chatters, [key]: { ...known, bouts } }, alerts: [] };
  }
  if (!isActivation(event)) return { chatters, alerts: [] };
  const bout = { from: event.at, to: event.at, isKnown: false };
  const kept = (known?.bouts ?? []).filter(({ from }) => from > event.at - HOUR_MS).slice(1 - KEPT);
  const bouts = [...kept, bout];
  const alert = known?.alert ? grown(known.alert, bouts, event) : isChatter(rules, bouts) ? opened(rules, bouts, event) : null;
  return { chatters: { ...chatters, [key]: { bouts, alert } }, alerts: alert === null ? [] : [alert] };
}

/** [CK2] No word for long enough. */
export function chatterOver(chatters: Chatters, key: string): ChatterNews {
  const { [key]: chatter, ...others } = chatters;
  const alert = chatter?.alert ?? null;
  if (alert === null) return { chatters: others, alerts: [] };
  const last = chatter?.bouts.at(-1);
  const at = Math.max(last?.to ?? 0, last?.from ?? 0);
  return { chatters: others, alerts: [ended(alert, at, { headline: `${alert.chamber}: over. ${came(alert)}.` })] };
}

/** [CK1] */
function isChatter({ settings: { chattering: rule } }: WatchRules, bouts: readonly Bout[]): boolean {
  if (!rule.on) return false;
  const last = (bouts.at(-1) as Bout).from;
  if (bouts.filter(({ from }) => from > last - rule.withinS * 1000).length >= rule.times) return true;
  const median = medianActiveMs(bouts.map((bout) => ({ ...bout, acknowledged: false })));
  return bouts.length >= rule.timesPerHour && median !== null && median < rule.activeUnderS * 1000;
}

function opened(rules: WatchRules, bouts: readonly Bout[], event: AlarmEvent): AlarmAlert {
  const { chamber, code, text, at } = event;
  const { severity, times, withinS, timesPerHour, activeUnderS } = rules.settings.chattering;
  const first = bouts.find(({ from }) => from > at - HOUR_MS) as Bout;
  const alarms = {
    ...{ count: bouts.length, rawCount: bouts.length, peak10Min: peak(bouts, 0), usual: null },
    firstOut: { chamber, code, text, at: first.from },
    top: [{ chamber, code, text, count: bouts.length }],
  };
  const alert = newAlert({
    ...{ kind: 'chattering', subject: `${chamber} ${code}`, at, chamber, severity, headline: '', cure: cureOf(bouts, event) },
    rule: `${times} times within ${withinS} s (in the manner of ISA-18.2), or ${timesPerHour} times in an hour with a median under ${activeUnderS} s (own rule); alerts.rules.chattering`,
  });
  return worded({ ...alert, alarms });
}

/** [CK2] */
function grown(alert: AlarmAlert, bouts: readonly Bout[], event: AlarmEvent): AlarmAlert {
  const { alarms } = alert;
  const count = alarms.count + 1;
  const top = alarms.top.map((one) => ({ ...one, count }));
  const counted = { ...alarms, count, rawCount: count, top, peak10Min: peak(bouts, alarms.peak10Min) };
  return worded({ ...alert, updatedAt: Math.max(event.at, alert.updatedAt), cure: cureOf(bouts, event), alarms: counted });
}

const TEN_MIN_MS = HOUR_MS / 6;
const peak = (bouts: readonly Bout[], before: number): number =>
  Math.max(before, bouts.filter(({ from }) => from > (bouts.at(-1) as Bout).from - TEN_MIN_MS).length);

const worded = (alert: AlarmAlert): AlarmAlert => ({ ...alert, headline: `${alert.chamber}: ${came(alert)}. It is chattering.` });

function came({ alarms: { count, firstOut, top }, updatedAt }: AlarmAlert): string {
  const { text, code } = top[0] as AlarmAlert['alarms']['top'][number];
  return `${text} (${code}) came ${count} times in ${lengthWords(updatedAt - (firstOut?.at ?? updatedAt))}`;
}

/** [CK3] */
function cureOf(bouts: readonly Bout[], { priority }: AlarmEvent): string {
  const spans = bouts.map((bout) => ({ ...bout, acknowledged: false }));
  const advice = delayAdvice({ spans, unseen: [], priority });
  const look = 'Look at the switch, its wiring and its target.';
  return advice === null || (advice.offDelay === null && advice.onDelay === null) ? look : `${look} ${advice.text}`;
}
