/** Alerts, what persons did about them, and mutes, without a disk. */
import { handsAfter, NO_HANDS, type AlertAct, type NewAct } from '../../src/alert-act.ts';
import { endedMute, isMuteOn, type Mute } from '../../src/alert-mute.ts';
import type { Alert } from '../../src/contract.ts';
import { Fault } from '../../src/fault.ts';
import { hasText } from './memory-text.ts';
import { auditOf, type ActStore, type AlertFilter, type AlertStore, type AuditRow } from './store.ts';

export type AlertMemory = Pick<AlertStore, 'alerts'> & ActStore & { readonly put: (alert: Alert) => void };
type Answer = <T>(work: () => T) => Promise<T>;

export function alertMemory(answer: Answer, audit: AuditRow[]): AlertMemory {
  const alerts = new Map<string, Alert>();
  const acts: AlertAct[] = [];
  const mutes = new Map<number, Mute>();
  const act = (done: NewAct): Alert => {
    const alert = known(alerts.get(done.alert), 'There is no such alert.');
    const after = { ...alert, ...handsAfter(alert, done) };
    alerts.set(alert.id, after);
    acts.push({ ...done, id: acts.length + 1 });
    audit.push(auditOf(done));
    return after;
  };
  return {
    put: (alert) => {
      const { acknowledgedAt, acknowledgedBy, takenAt, takenBy } = alerts.get(alert.id) ?? NO_HANDS;
      alerts.set(alert.id, { ...alert, acknowledgedAt, acknowledgedBy, takenAt, takenBy });
    },
    alerts: (filter) => answer(() => selectAlerts([...alerts.values()], acts, filter)),
    actOnAlert: (done) => answer(() => act(done)),
    acts: (ids) => answer(() => acts.filter(({ alert }) => ids.includes(alert))),
    mutes: (at) => answer(() => [...mutes.values()].filter((one) => isMuteOn(one, at))),
    allMutes: (limit) => answer(() => [...mutes.values()].toReversed().slice(0, limit)),
    addMute: (draft) =>
      answer(() => {
        const { alert, from, who, why } = draft;
        if (alert === null) audit.push({ at: from, who, deed: 'mute alerts', subject: subjectOf(draft) });
        else act({ alert, at: from, who, deed: 'muted', text: why });
        const made = { ...draft, id: mutes.size + 1, endedAt: null, endedBy: null };
        mutes.set(made.id, made);
        return made;
      }),
    endMute: (id, by) =>
      answer(() => {
        const over = endedMute(known(mutes.get(id), 'There is no such mute.'), by);
        if (over.alert === null) audit.push({ ...by, deed: 'unmute alerts', subject: subjectOf(over) });
        else act({ alert: over.alert, ...by, deed: 'unmuted', text: '' });
        mutes.set(id, over);
        return over;
      }),
  };
}

const subjectOf = ({ kind, chamber, shared }: Pick<Mute, 'kind' | 'chamber' | 'shared'>): string =>
  [kind, chamber ?? shared].filter((part) => part !== null).join(' at ');

function selectAlerts(all: readonly Alert[], acts: readonly AlertAct[], filter: AlertFilter): Alert[] {
  return all
    .filter((alert) => isAsked(alert, filter) && isSaid(alert, acts, filter.words))
    .sort((a, b) => b.startedAt - a.startedAt || (a.id < b.id ? 1 : -1))
    .slice(0, filter.limit);
}

function isAsked(a: Alert, { after, chamber, ...filter }: AlertFilter): boolean {
  return (
    (filter.ids === undefined || filter.ids.includes(a.id)) &&
    (filter.state === undefined || a.state === filter.state) &&
    (filter.from === undefined || a.updatedAt >= filter.from) &&
    (filter.to === undefined || a.startedAt < filter.to) &&
    (filter.kinds === undefined || filter.kinds.includes(a.kind)) &&
    (filter.severity === undefined || a.severity === filter.severity) &&
    (chamber === undefined || a.chamber === chamber || a.together.includes(chamber)) &&
    (filter.takenBy === undefined || a.takenBy === filter.takenBy) &&
    (filter.firstOut === undefined || a.alarms?.firstOut?.code === filter.firstOut) &&
    (after === undefined || a.startedAt < after.startedAt || (a.startedAt === after.startedAt && a.id < after.id))
  );
}

const isSaid = (alert: Alert, acts: readonly AlertAct[], words: string | undefined): boolean =>
  words === undefined ||
  hasText(alert.headline, words) ||
  acts.some(({ alert: id, deed, text }) => id === alert.id && deed === 'commented' && hasText(text, words));

function known<T>(thing: T | undefined, missing: string): T {
  if (thing === undefined) throw new Fault('not-found', missing);
  return thing;
}
