/**
 * Which alert tells another one as well: that one stands in the inbox, marked, and is not told on its own.
 * [AV1] A common cause covers bursts, and chambers unheard, of its chambers, and the flood at a position of whose alarms half or more are theirs,
 *       where they began less than ten minutes before it or while it is open.
 * [AV2] A flood of one chamber's alarms (four fifths or more) is part of that chamber's burst; of several chambers', their bursts are part of it.
 * [AV3] A burst or a flood of which half or more is one chattering alarm is part of that alarm's alert.
 * [AV4] What is part of another stays so; where that becomes a part itself, it is part of the widest.
 */
import { TRAILING_MS } from './alarm-stats.ts';
import type { CauseState } from './alert-cause.ts';
import { chatterDue, type Chatter, type Chatters } from './alert-chatter.ts';
import { expired, type Subject, type Tally } from './alert-episode.ts';
import type { Silences } from './alert-silence.ts';
import type { Alert } from './contract.ts';

type Covered = {
  readonly subjects: Readonly<Record<string, Subject>>;
  readonly silences: Silences;
  readonly causes: CauseState;
  readonly chatters: Chatters;
};
type CoverNews<S extends Covered> = { readonly state: S; readonly alerts: readonly Alert[] };

const MOST = 0.8;
const HALF = 0.5;

/** [AV1]-[AV4] All open alerts of many alarms that are not part of one yet, looked at once more: call it when one of them was opened. */
export function covered<S extends Covered>(state: S, at: number): CoverNews<S> {
  let next = state;
  const alerts: Alert[] = [];
  for (const [key, { episode }] of openSubjects(state, at)) {
    if (episode === null) continue;
    const partOf =
      episode.alert.partOf === null ? coverOf({ ...next, at }, episode.alert, episode.tally) : widest(next, episode.alert.partOf);
    if (partOf === episode.alert.partOf) continue;
    const alert = { ...episode.alert, partOf };
    const subject = { ...(next.subjects[key] as Subject), episode: { ...episode, alert } };
    next = { ...next, subjects: { ...next.subjects, [key]: subject } };
    alerts.push(alert);
  }
  for (const [id, silence] of Object.entries(state.silences)) {
    const partOf =
      silence.alert.partOf === null
        ? causeOf(next, silence.alert, (members) => silence.silent.every((one) => members.includes(one)))
        : null;
    if (partOf === null) continue;
    const alert = { ...silence.alert, partOf };
    next = { ...next, silences: { ...next.silences, [id]: { ...silence, alert } } };
    alerts.push(alert);
  }
  return { state: next, alerts };
}

/** [AV4] */
const widest = ({ subjects }: Covered, id: string): string =>
  Object.values(subjects).find(({ episode }) => episode?.alert.id === id)?.episode?.alert.partOf ?? id;

type Moment = Covered & { readonly at: number };

/** What is over by now, though no tick said so yet, is not open. */
const openSubjects = ({ subjects }: Covered, at: number): (readonly [string, Subject])[] =>
  Object.entries(subjects).filter(([, subject]) => subject.episode !== null && expired(subject, at).subject.episode !== null);

function coverOf(state: Moment, alert: Alert, tally: readonly Tally[]): string | null {
  const ofMembers = (members: readonly string[]): boolean => shareOf(tally, ({ chamber }) => members.includes(chamber)) >= HALF;
  return causeOf(state, alert, ofMembers) ?? chatterOf(state, alert, tally) ?? sisterOf(state, alert, tally);
}

/** [AV1] */
function causeOf({ causes: { causes } }: Covered, alert: Alert, isOf: (members: readonly string[]) => boolean): string | null {
  return causes.find((cause) => alert.startedAt > cause.alert.startedAt - TRAILING_MS && isOf(cause.members))?.alert.id ?? null;
}

/** [AV3] */
function chatterOf({ chatters, at }: Moment, alert: Alert, tally: readonly Tally[]): string | null {
  const isOn = (chatter: Chatter | undefined): boolean => chatter !== undefined && chatter.alert !== null && chatterDue(chatter) > at;
  const noisy = tally.find((one) => shareOf(tally, (other) => other === one) >= HALF && isOn(chatters[`${one.chamber}/${one.code}`]));
  const found = noisy && chatters[`${noisy.chamber}/${noisy.code}`]?.alert;
  return found && found.startedAt > alert.startedAt - 12 * TRAILING_MS ? found.id : null;
}

/** [AV2] [AV4] */
function sisterOf(state: Moment, alert: Alert, tally: readonly Tally[]): string | null {
  const open = openSubjects(state, state.at).flatMap(([, { episode }]) => (episode && episode.alert.partOf === null ? [episode] : []));
  const near = open.filter(({ alert: other }) => other.kind !== alert.kind && Math.abs(other.startedAt - alert.startedAt) <= TRAILING_MS);
  if (alert.kind === 'flood')
    return near.find(({ alert: { chamber } }) => shareOf(tally, (one) => one.chamber === chamber) >= MOST)?.alert.id ?? null;
  const { chamber } = alert;
  return (
    near.find(({ tally: of }) => shareOf(of, (one) => one.chamber === chamber) > 0 && shareOf(of, (one) => one.chamber === chamber) < MOST)
      ?.alert.id ?? null
  );
}

function shareOf(tally: readonly Tally[], isOne: (one: Tally) => boolean): number {
  const all = tally.reduce((sum, { count }) => sum + count, 0);
  return all === 0 ? 0 : tally.filter(isOne).reduce((sum, { count }) => sum + count, 0) / all;
}
