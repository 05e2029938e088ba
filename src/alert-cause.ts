/**
 * One thing that strikes several chambers: one alert that names it, in place of one for each.
 * [CM1] It opens when the same alarm came up, or chambers tripped by whatever alarm, on three chambers within a minute, or three chambers began a
 *       burst within ten minutes (numbers of the site file; three of one code in a minute found every event of a simulated hall in three weeks).
 *       Notices do not count, nor does an alarm that chatters.
 * [CM2] It names what the chambers share by the site file, and the chamber and alarm that came first among them in that minute.
 * [CM3] A chamber joins with any alarm within the minute after its begin where it hangs on the same utility, and with a shared alarm for as long as
 *       it is open. What else its chambers raise meanwhile is counted in it. It is named by the alarm that most of its chambers raised, of
 *       several by one that names a supply.
 * [CM4] It is over ten minutes after its last shared word, once no alarm of its begin stands on two chambers; on a chamber that nobody observes none
 *       does.
 */
import { isActivation } from './activation.ts';
import { TRAILING_MS } from './alarm-stats.ts';
import { tallied, topOf, type AlarmAlert, type Tally } from './alert-episode.ts';
import { ended, lengthWords, listWords, newAlert } from './alert-form.ts';
import type { Alert, AlertAlarms } from './contract.ts';
import type { AlarmEvent, EventOf } from './event.ts';
import { namesUtility, sharedUtilities, utilityCheck, utilityWords } from './shared-utility.ts';
import type { WatchRules } from './watch-rules.ts';

/** Something that may be one chamber's part of a common cause. `code` is the alarm's, or one of the two words below. */
type Trigger = { readonly at: number; readonly chamber: string; readonly code: string; readonly text: string };
const HALF_A_CHAMBER = 0.5;
const TRIP = 'trip';
export const BURST = 'burst';

export type Cause = {
  readonly alert: AlarmAlert;
  /** What most of its chambers share. */
  readonly code: string;
  readonly text: string;
  readonly members: readonly string[];
  /** Words of its begin that stand, as `<chamber>|<code>`. */
  readonly standing: readonly string[];
  /** Codes of its begin. */
  readonly codes: readonly string[];
  readonly lastAt: number;
  readonly tally: readonly Tally[];
};
export type CauseState = { readonly recent: readonly Trigger[]; readonly causes: readonly Cause[] };
type CauseNews = CauseState & { readonly alerts: readonly Alert[] };
export const NO_CAUSES: CauseState = { recent: [], causes: [] };

/** [CM4] When it would be over, as things stand. */
export const causeDue = ({ standing, lastAt, code }: Cause): number =>
  standing.filter((word) => word.endsWith(`|${code}`)).length > 1 ? Infinity : lastAt + TRAILING_MS;

export const causeOf = ({ causes }: CauseState, chamber: string): Cause | undefined =>
  causes.find(({ members }) => members.includes(chamber));

/** [CM1] [CM3] [CM4] */
export function causeOnAlarm(rules: WatchRules, state: CauseState, event: AlarmEvent & { readonly chatters: boolean }): CauseNews {
  const { chamber, code, at } = event;
  if (event.change === 'cleared') return settled(state, chamber, code, at);
  if (!isActivation(event) || event.chatters) return { ...state, alerts: [] };
  return triggered(rules, state, { at, chamber, code, text: event.text });
}

/** [CM1] A chamber tripped; or it runs again, or nobody observes it. */
export function causeOnState(rules: WatchRules, state: CauseState, event: EventOf<'equipment-state'>): CauseNews {
  const { chamber, at } = event;
  if (event.state === 'unobserved') return settled(state, chamber, null, at);
  if (event.state !== 'unscheduled-downtime') return settled(state, chamber, TRIP, at);
  if (!event.reason.startsWith('tripped')) return { ...state, alerts: [] };
  return triggered(rules, state, { at, chamber, code: TRIP, text: event.reason });
}

/** A burst began, a chamber tripped, an alarm came up. */
export function triggered(rules: WatchRules, state: CauseState, trigger: Trigger): CauseNews {
  const mine = state.causes.find((cause) => belongs(rules, cause, trigger));
  if (mine !== undefined) return replaced(state, mine, joined(rules, mine, trigger));
  const recent = [...state.recent.filter(({ at }) => Math.abs(trigger.at - at) <= TRAILING_MS), trigger];
  const cluster = clusterOf(rules, recent, trigger);
  if (cluster === null || !rules.settings['common-cause'].on) return { ...state, recent, alerts: [] };
  const cause = opened(rules, recent, cluster, trigger);
  return {
    recent: recent.filter(({ chamber }) => !cause.members.includes(chamber)),
    causes: [...state.causes, cause],
    alerts: [cause.alert],
  };
}

const windowMs = (rules: WatchRules, code: string): number =>
  code === BURST ? TRAILING_MS : rules.settings['common-cause'].withinS * 1000;

/** [CM1] Those of the same word within the window, when they are of enough chambers. */
function clusterOf(rules: WatchRules, recent: readonly Trigger[], { code, at }: Trigger): readonly Trigger[] | null {
  const same = recent.filter((one) => one.code === code && Math.abs(one.at - at) <= windowMs(rules, code)).toSorted((a, b) => a.at - b.at);
  for (const first of same) {
    const within = same.filter((one) => one.at >= first.at && one.at - first.at <= windowMs(rules, code));
    if (new Set(within.map(({ chamber }) => chamber)).size >= rules.settings['common-cause'].chambers) return within;
  }
  return null;
}

/** [CM3] */
function belongs(rules: WatchRules, cause: Cause, { chamber, code, at }: Trigger): boolean {
  if (at > cause.lastAt + TRAILING_MS || at < cause.alert.startedAt - TRAILING_MS) return false;
  if (cause.members.includes(chamber) || code === cause.code) return true;
  return isAtBegin(rules, cause, at) && isInReach(rules, cause, chamber);
}

const isAtBegin = (rules: WatchRules, { alert }: Cause, at: number): boolean => at <= alert.startedAt + windowMs(rules, TRIP);

const isInReach = ({ utilities }: WatchRules, { members, text, code }: Cause, chamber: string): boolean =>
  sharedUtilities(utilities, members, `${code} ${text}`).some(({ chambers }) => chambers.includes(chamber));

/** [CM1] [CM2] */
function opened(rules: WatchRules, recent: readonly Trigger[], cluster: readonly Trigger[], { at, code }: Trigger): Cause {
  const members = [...new Set(cluster.map(({ chamber }) => chamber))].sort();
  const from = (cluster[0] as Trigger).at - windowMs(rules, TRIP);
  const own = recent.filter((one) => members.includes(one.chamber) && one.at >= from && isAlarm(one));
  const counted = own.length > 0 ? own : cluster;
  const first = counted.reduce((earliest, one) => (one.at < earliest.at ? one : earliest));
  const tally = counted.reduce<readonly Tally[]>((sum, one) => tallied(sum, { ...one, raw: 1 }), []);
  const startedAt = Math.max(at, ...cluster.map((one) => one.at));
  const { severity } = rules.settings['common-cause'];
  const alarms: AlertAlarms = {
    ...{ count: counted.length, rawCount: counted.length, peak10Min: counted.length, usual: null },
    firstOut: { chamber: first.chamber, code: first.code, text: first.text, at: first.at },
    top: topOf(tally),
  };
  const alert = {
    ...newAlert({ kind: 'common-cause', subject: code, at: startedAt, severity, headline: '', rule: ruleOf(rules, code) }),
    alarms,
  };
  const begin = [...new Set([...own, ...cluster])].filter((one) => one.code !== BURST);
  const standing = [...new Set(begin.map(wordOf))];
  const codes = [...new Set([...cluster, ...own].map((one) => one.code))];
  return named(rules, { alert, code, text: textOf(cluster[0] as Trigger), members, standing, codes, lastAt: startedAt, tally });
}

const isAlarm = ({ code }: Trigger): boolean => code !== TRIP && code !== BURST;
const wordOf = ({ chamber, code }: Trigger): string => `${chamber}|${code}`;
const textOf = ({ code, text }: Trigger): string => (code === TRIP ? 'tripped' : code === BURST ? 'an alarm burst' : text);

/** [CM3] */
function joined(rules: WatchRules, cause: Cause, trigger: Trigger): Cause {
  const { alarms } = cause.alert;
  const { chamber, code, text, at } = trigger;
  const isBegin = isAtBegin(rules, cause, at);
  const isShared = cause.codes.includes(code) || isBegin;
  const tally = isAlarm(trigger) ? tallied(cause.tally, { ...trigger, raw: 1 }) : cause.tally;
  const more = isAlarm(trigger) ? 1 : 0;
  const first = alarms.firstOut && at < alarms.firstOut.at && isAlarm(trigger) ? { chamber, code, text, at } : alarms.firstOut;
  const counted = { ...alarms, count: alarms.count + more, rawCount: alarms.rawCount + more };
  return named(rules, {
    ...cause,
    members: [...new Set([...cause.members, chamber])].sort(),
    codes: isBegin ? [...new Set([...cause.codes, code])] : cause.codes,
    standing: isShared && code !== BURST ? [...new Set([...cause.standing, wordOf(trigger)])] : cause.standing,
    lastAt: isBegin || code === cause.code ? Math.max(cause.lastAt, at) : cause.lastAt,
    tally,
    alert: {
      ...cause.alert,
      updatedAt: Math.max(cause.alert.updatedAt, at),
      alarms: { ...counted, peak10Min: Math.max(counted.peak10Min, isBegin ? counted.count : 0), firstOut: first, top: topOf(tally) },
    },
  });
}

/** [CM4] The shared word is over on a chamber; `code` null: nobody observes it. */
function settled(state: CauseState, chamber: string, code: string | null, at: number): CauseNews {
  const isOver = (word: string): boolean => (code === null ? word.startsWith(`${chamber}|`) : word === `${chamber}|${code}`);
  const causes = state.causes.map((cause) => {
    if (!cause.standing.some(isOver)) return cause;
    const lastAt = code === cause.code || code === null ? Math.max(cause.lastAt, at) : cause.lastAt;
    return { ...cause, standing: cause.standing.filter((word) => !isOver(word)), lastAt };
  });
  return { ...state, causes, alerts: [] };
}

/** [CM4] The site file has this chamber no more: nobody observes it. */
export const causesWithout = (state: CauseState, chamber: string, at: number): CauseState => {
  const { recent, causes } = settled(state, chamber, null, at);
  return { recent: recent.filter((one) => one.chamber !== chamber), causes };
};

/** [CM4] */
export function causeOver(state: CauseState, cause: Cause): CauseNews {
  const at = cause.lastAt + TRAILING_MS;
  const { alarms, startedAt } = cause.alert;
  const headline = `Over: ${whoWords(cause)} ${cause.text}, for ${lengthWords(cause.lastAt - (alarms.firstOut?.at ?? startedAt))}, ${alarms.count} alarms.`;
  return { ...state, causes: state.causes.filter((one) => one !== cause), alerts: [ended(cause.alert, at, { headline })] };
}

const replaced = (state: CauseState, old: Cause, cause: Cause): CauseNews => ({
  ...state,
  causes: state.causes.map((one) => (one === old ? cause : one)),
  alerts: [cause.alert],
});

const whoWords = ({ members }: Cause): string => `${members.length} chambers (${listWords(members)}):`;

/** [CM3] By the alarm of its begin that most chambers raised; of several the one that names a supply. */
function named(rules: WatchRules, cause: Cause): Cause {
  const wordsOf = (code: string): string => cause.tally.find((one) => one.code === code)?.text ?? cause.text;
  const weight = (code: string): number => {
    if (code === TRIP || code === BURST) return cause.members.length;
    return cause.tally.filter((one) => one.code === code).length + (namesUtility(`${code} ${wordsOf(code)}`) ? HALF_A_CHAMBER : 0);
  };
  const most = cause.codes.reduce((best, code) => (weight(code) > weight(best) ? code : best), cause.code);
  return worded(rules, { ...cause, code: most, text: wordsOf(most) });
}

/** [CM2] */
function worded(rules: WatchRules, cause: Cause): Cause {
  const { members, text, code, alert } = cause;
  const shared = sharedUtilities(rules.utilities, members, `${code} ${text}`);
  const shares = utilityWords(shared);
  const first = alert.alarms.firstOut;
  const came = first === null ? '' : ` First: ${first.text} at ${first.chamber} (${first.code}).`;
  const words = shares === null ? 'The site file knows nothing that they share.' : `They share ${shares}.`;
  const headline = `${whoWords(cause)} ${text} at once. ${words}${came}`;
  return { ...cause, alert: { ...alert, together: [...members], shares, cure: utilityCheck(shared), headline } };
}

function ruleOf({ settings }: WatchRules, code: string): string {
  const { chambers, withinS } = settings['common-cause'];
  const what =
    code === BURST ? 'began a burst within 10 minutes' : `${code === TRIP ? 'tripped' : 'raised the same alarm'} within ${withinS} s`;
  return `${chambers} chambers or more ${what} (alerts.rules.common-cause)`;
}
