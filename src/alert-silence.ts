/**
 * Chambers of which nobody hears anything.
 * [SI1] A chamber unobserved for longer than the limit, in scheduled time, is told. It is over when it is heard again.
 * [SI2] Those that fell silent within a minute of it, or whose server's chamber is told already, are told in the same alert, which says what they
 *       share: a server, or that it is all of them. It is over when all are heard again.
 * [SI3] Time in which the gateway itself was away is nobody's silence: after its start every clock begins anew.
 */
import { ended, lengthWords, listWords, momentWords, newAlert } from './alert-form.ts';
import { begun, renewed, type Hold } from './alert-hold.ts';
import { clockOf, type Holds } from './alert-holds.ts';
import type { Alert } from './contract.ts';
import type { EventOf } from './event.ts';
import type { WatchRules } from './watch-rules.ts';
import { MINUTE_MS } from './zone.ts';

/** Open alerts by id, with since when, and the chambers still unheard. */
export type Silence = { readonly alert: Alert; readonly since: number; readonly silent: readonly string[] };
export type Silences = Readonly<Record<string, Silence>>;
type SilenceState = { readonly holds: Holds; readonly silences: Silences };
type SilenceNews = SilenceState & { readonly alerts: readonly Alert[] };

const TOGETHER_MS = MINUTE_MS;

/** [SI1] */
export function silenceOnState(rules: WatchRules, state: SilenceState, event: EventOf<'equipment-state'>): SilenceNews {
  const { chamber, at } = event;
  const key = `no-data/${chamber}`;
  const hold = state.holds[key];
  if (event.state === 'unobserved') {
    if (hold !== undefined) return { ...state, alerts: [] };
    const fresh = begun({ kind: 'no-data', chamber, since: at, what: event.reason }, clockOf(rules, 'no-data'));
    return { ...state, holds: { ...state.holds, [key]: fresh }, alerts: [] };
  }
  const { [key]: _, ...holds } = state.holds;
  return heard({ ...state, holds }, chamber, at);
}

/** [SI2] */
export function heard(state: SilenceState, chamber: string, at: number): SilenceNews {
  const found = Object.entries(state.silences).find(([, { silent }]) => silent.includes(chamber));
  if (found === undefined) return { ...state, alerts: [] };
  const [id, silence] = found;
  const { alert, since, silent } = silence;
  const { [id]: _, ...others } = state.silences;
  const left = silent.filter((one) => one !== chamber);
  if (left.length > 0) return { ...state, silences: { ...others, [id]: { ...silence, silent: left } }, alerts: [] };
  // What was measured before may come late: nobody had heard it when this was told.
  const who = alert.chamber ?? countOf(alert.together);
  return {
    ...state,
    silences: others,
    alerts: [ended(alert, at, { headline: `${who}: over. Heard again after ${lengthWords(Math.max(at, alert.startedAt) - since)}.` })],
  };
}

const countOf = (chambers: readonly string[]): string => (chambers.length === 1 ? '1 chamber' : `${chambers.length} chambers`);
/** [SI1] [SI2] Its time is up. */
export function silenceFired(rules: WatchRules, state: SilenceState, { hold, at }: { hold: Hold; at: number }): SilenceNews {
  const { chamber, since } = hold;
  const settled = (chambers: readonly string[]): Holds =>
    Object.fromEntries(
      Object.entries(state.holds).map(([key, one]) => [
        key,
        one.kind === 'no-data' && chambers.includes(one.chamber) ? { ...one, due: null } : one,
      ]),
    );
  if (!rules.settings['no-data'].on) return { ...state, holds: settled([chamber]), alerts: [] };
  const joined = Object.entries(state.silences).find(([, { silent }]) =>
    silent.some((one) => serverOf(rules, one) === serverOf(rules, chamber)),
  );
  if (joined !== undefined) return join(rules, { ...state, holds: settled([chamber]) }, { chamber, at, id: joined[0] });
  const together = Object.values(state.holds)
    .filter((one) => one.kind === 'no-data' && Math.abs(one.since - since) <= TOGETHER_MS && !isTold(state, one.chamber))
    .map((one) => one.chamber)
    .sort();
  const alert = silenceAlert(rules, { chambers: together, since }, at);
  return {
    holds: settled(together),
    silences: { ...state.silences, [alert.id]: { alert, since, silent: together } },
    alerts: [alert],
  };
}

const isTold = ({ silences }: SilenceState, chamber: string): boolean =>
  Object.values(silences).some(({ silent }) => silent.includes(chamber));
const serverOf = ({ servers }: WatchRules, chamber: string): string => servers[chamber] ?? chamber;

function join(rules: WatchRules, state: SilenceState, { chamber, at, id }: { chamber: string; at: number; id: string }): SilenceNews {
  const { alert, since, silent } = state.silences[id] as Silence;
  const together = [...new Set([...alert.together, ...(alert.chamber === null ? [] : [alert.chamber]), chamber])].sort();
  const words = wordsOf(rules, { chambers: together, since });
  const wider = { ...alert, ...words, chamber: null, together, updatedAt: Math.max(at, alert.updatedAt) };
  return { ...state, silences: { ...state.silences, [id]: { alert: wider, since, silent: [...silent, chamber] } }, alerts: [wider] };
}

type Silent = { readonly chambers: readonly string[]; readonly since: number };

function silenceAlert(rules: WatchRules, silent: Silent, at: number): Alert {
  const { chambers } = silent;
  const [only] = chambers;
  const words = wordsOf(rules, silent);
  const subject = chambers.length === 1 ? (only as string) : (oneServer(rules, chambers) ?? countOf(chambers));
  const who = chambers.length === 1 ? { chamber: only as string } : { together: [...chambers] };
  return newAlert({ kind: 'no-data', subject, at, severity: rules.settings['no-data'].severity, ...who, ...words });
}

function oneServer(rules: WatchRules, chambers: readonly string[]): string | null {
  const servers = new Set(chambers.map((chamber) => serverOf(rules, chamber)));
  return servers.size === 1 ? ([...servers][0] as string) : null;
}

function wordsOf(rules: WatchRules, { chambers, since }: Silent): Pick<Alert, 'headline' | 'rule' | 'cure' | 'shares' | 'facts'> {
  const limit = rules.settings['no-data'].longerThanMin;
  const server = oneServer(rules, chambers);
  const isAll = chambers.length === rules.chambers.length && chambers.length > 1;
  const who =
    chambers.length === 1 ? (chambers[0] as string) : isAll ? 'All chambers' : `${chambers.length} chambers (${listWords(chambers)})`;
  const shares = chambers.length === 1 ? null : server !== null ? `server ${server}` : isAll ? 'the way to all servers' : null;
  return {
    headline: `${who}: nothing heard for ${limit} min. ${chambers.length === 1 ? 'Its' : 'Their'} time is unobserved${shares === null ? '' : `; they share ${shares}`}.`,
    rule: `no value for ${limit} min of scheduled time (alerts.rules.no-data)`,
    cure: isAll
      ? 'Check the network of the gateway’s own machine first, then the servers.'
      : `Check ${server === null ? 'the servers' : `server ${server}`} and the network to ${server === null ? 'them' : 'it'}; the page Links says what its link last told.`,
    shares,
    facts: [{ label: 'Silent since', value: momentWords(since, rules.calendar.zone) }],
  };
}

/** [SI3] */
export const silencesRenewed = (rules: WatchRules, holds: Holds, at: number): Holds =>
  Object.fromEntries(
    Object.entries(holds).map(([key, hold]) => [
      key,
      hold.kind === 'no-data' && hold.due !== null ? renewed(hold, at, clockOf(rules, 'no-data')) : hold,
    ]),
  );
