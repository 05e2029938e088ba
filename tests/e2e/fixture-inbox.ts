/** An invented inbox behind the pages: alerts of several kinds, and the acts on them by the product's own rules, without a store. */
import { handsAfter, type AlertAct, type NewAct } from '../../src/alert-act.ts';
import type { AlertEvidence, EvidenceAlarm, InboxAlert } from '../../src/alert-inbox.ts';
import { checkedMute, endedMute, isMuteOn, muteOf, type Mute } from '../../src/alert-mute.ts';
import { evidenceSpan } from '../../src/alert-similar.ts';
import type { Alert, AlertAlarms, AlertNews, Delivery } from '../../src/contract.ts';
import { Fault } from '../../src/fault.ts';

const MIN = 60_000;
const BURST = 'burst/PC-07/2026-11-25T06:00:00.000Z';

/** Open: a burst nobody saw, a downtime somebody took. Over: a flood. */
export function alertsOf(now: number): [burst: Alert, flood: Alert, down: Alert] {
  const alarms: AlertAlarms = {
    ...{ count: 23, rawCount: 61, peak10Min: 14 },
    usual: { per10Min: 0.4, threshold: 5, observedHours: 612, expectedFalsePerMonth: 0.2 },
    firstOut: { chamber: 'PC-07', code: 'WATER_FLOW_LOW', text: 'Cooling water flow low', at: now - 27 * MIN },
    top: [
      { chamber: 'PC-07', code: 'WATER_FLOW_LOW', text: 'Cooling water flow low', count: 12 },
      { chamber: 'PC-07', code: 'RF_REFL_HIGH', text: 'Reflected power high', count: 8 },
      { chamber: 'PC-07', code: 'RF_FAULT', text: 'RF generator fault', count: 3 },
    ],
  };
  const none = { acknowledgedAt: null, acknowledgedBy: null, takenAt: null, takenBy: null, shares: null, partOf: null, facts: [] };
  const burst: Alert = {
    ...{ ...none, id: BURST, kind: 'burst', chamber: 'PC-07', position: null, severity: 'medium', state: 'open' },
    ...{ startedAt: now - 26 * MIN, updatedAt: now - MIN, closedAt: null, alarms, together: ['PC-08', 'PC-11'] },
    headline: 'PC-07: 23 alarms in 26 min, usual 0.4 per 10 min; first was cooling water flow low',
    rule: 'more than 5 activations in 10 minutes, which 612 h of this chamber explain less than once in 5 months',
    cure: 'Check the cooling water at PC-07: valve, filter, hose.',
  };
  const flood: Alert = {
    ...{ ...burst, id: 'flood/Loop South/2026-11-25T03:00:00.000Z', kind: 'flood', chamber: null, position: 'Loop South', state: 'closed' },
    ...{ severity: 'high', startedAt: now - 300 * MIN, closedAt: now - 270 * MIN, updatedAt: now - 270 * MIN, together: ['PC-07'] },
    ...{ acknowledgedAt: now - 290 * MIN, acknowledgedBy: 'process engineer', cure: null },
    alarms: { ...alarms, count: 48, peak10Min: 31, usual: null },
    rule: 'above 10 annunciated alarms in 10 minutes until below 5, in the manner of ISA-18.2',
    headline: 'Loop South: alarm flood, 48 alarms in 30 min',
  };
  const down: Alert = {
    ...{ ...burst, id: 'down/PC-10/2026-11-25T05:00:00.000Z', kind: 'down', chamber: 'PC-10', severity: 'high', alarms: null },
    ...{ startedAt: now - 95 * MIN, together: [], acknowledgedAt: now - 80 * MIN, acknowledgedBy: 'A. Brandt' },
    ...{ takenAt: now - 80 * MIN, takenBy: 'A. Brandt', cure: 'Tell why on the page of stops.' },
    headline: 'PC-10: down for 1:35 h, tripped: RF_FAULT; nobody told a reason',
    rule: 'unscheduled downtime longer than 60 min',
    facts: [{ label: 'Since', value: 'RF generator fault' }],
  };
  return [burst, flood, down];
}

const deliveriesOf = (now: number): Delivery[] => [
  {
    ...{ id: 'd1', alert: BURST, route: 'mail engineering', stage: 'opened', state: 'delivered', attempts: 1, nextAt: null },
    ...{ deliveredAt: now - 25 * MIN, lastError: null },
  },
  {
    ...{ id: 'd2', alert: BURST, route: 'webhook line-board', stage: 'opened', state: 'waiting', attempts: 3, nextAt: now + 2 * MIN },
    ...{ deliveredAt: null, lastError: 'connection refused' },
  },
];

export type MockInbox = {
  /** Deeds as they came: '<alert> <deed> by <who>'. */
  readonly done: string[];
  add(alert: Alert): void;
  clear(): void;
  news(): AlertNews;
  rows(query: URLSearchParams): InboxAlert[];
  row(id: string): InboxAlert | null;
  evidence(id: string): AlertEvidence | null;
  mutes(): readonly Mute[];
  act(id: string, deed: string, body: Record<string, string>): InboxAlert;
  mute(body: Record<string, unknown>): Mute;
  unmute(id: number, by: string): Mute;
};

const DEEDS: Readonly<Record<string, AlertAct['deed']>> = {
  ...{ acknowledge: 'acknowledged', take: 'taken', 'give-back': 'given back', comment: 'commented' },
};

export function mockInbox(now: () => number): MockInbox {
  const begin = now();
  const alerts = new Map<string, Alert>(alertsOf(begin).map((alert) => [alert.id, alert]));
  let acts: readonly AlertAct[] = [];
  let mutes: readonly Mute[] = [];
  let rev = 1;
  const done: string[] = [];
  const on = (): readonly Mute[] => mutes.filter((one) => isMuteOn(one, now()));
  const rowOf = (alert: Alert): InboxAlert => ({
    ...alert,
    deliveries: deliveriesOf(begin).filter((one) => one.alert === alert.id),
    acts: acts.filter((act) => act.alert === alert.id),
    mute: alert.state === 'open' ? muteOf(alert, on()) : null,
  });
  const note = (act: NewAct): Alert => {
    const alert = alerts.get(act.alert);
    if (alert === undefined) throw new Fault('not-found', 'No such thing here.');
    const after = { ...alert, ...handsAfter(alert, act) };
    alerts.set(alert.id, after);
    acts = [...acts, { ...act, id: acts.length + 1 }];
    rev += 1;
    done.push(`${act.alert} ${act.deed} by ${act.who}${act.text === '' ? '' : `: ${act.text}`}`);
    return after;
  };
  return {
    done,
    clear: () => {
      alerts.clear();
      rev += 1;
    },
    add: (alert) => {
      alerts.set(alert.id, alert);
      rev += 1;
    },
    news: () => {
      const open = [...alerts.values()].filter(({ state }) => state === 'open');
      const changed = open.map(
        ({ id, kind, chamber, severity, state, startedAt, headline, acknowledgedBy, takenBy, partOf, ...alert }) => ({
          ...{ id, kind, chamber, severity, state, startedAt, headline, acknowledgedBy, takenBy, partOf },
          mutedUntil: muteOf({ ...alert, kind, chamber }, on())?.until ?? null,
        }),
      );
      return { rev, open: open.length, isWhole: true, changed };
    },
    rows: (query) =>
      [...alerts.values()]
        .filter(({ state, headline }) => (query.get('state') ?? state) === state && headline.includes(query.get('words') ?? ''))
        .sort((a, b) => b.startedAt - a.startedAt)
        .map(rowOf),
    row: (id) => {
      const alert = alerts.get(id);
      return alert === undefined ? null : rowOf(alert);
    },
    evidence: (id) => {
      const alert = alerts.get(id);
      return alert === undefined ? null : evidenceOf(alert, now());
    },
    mutes: () => mutes.toReversed(),
    act: (alert, deed, { by = '', text = '', from = '' }) =>
      rowOf(note({ alert, at: now(), who: by, deed: DEEDS[deed] as AlertAct['deed'], text: text || from })),
    mute: ({ by, alert = null, ...draft }) => {
      const made = checkedMute({ shared: null, ...draft, from: now(), who: by, alert } as Parameters<typeof checkedMute>[0]);
      if (made.alert !== null) note({ alert: made.alert, at: now(), who: made.who, deed: 'muted', text: made.why });
      const mute = { ...made, id: mutes.length + 1, endedAt: null, endedBy: null };
      mutes = [...mutes, mute];
      rev += 1;
      return mute;
    },
    unmute: (id, by) => {
      const over = endedMute(mutes.find((one) => one.id === id) as Mute, { at: now(), who: by });
      mutes = mutes.map((one) => (one.id === id ? over : one));
      if (over.alert !== null) note({ alert: over.alert, at: now(), who: by, deed: 'unmuted', text: '' });
      rev += 1;
      return over;
    },
  };
}

function evidenceOf(alert: Alert, now: number): AlertEvidence {
  const first = alert.alarms?.firstOut;
  const chamber = alert.chamber ?? first?.chamber ?? null;
  const later = (minutes: number, code: string, text: string, lastsMin: number | null): EvidenceAlarm => {
    const at = alert.startedAt + minutes * MIN;
    const about = { code, text, priority: 'medium' as const, notice: false };
    return { chamber: chamber ?? '', ...about, at, clearedAt: lastsMin === null ? null : at + lastsMin * MIN, isFirst: minutes === -1 };
  };
  const alarms = first
    ? [
        later(-1, 'WATER_FLOW_LOW', 'Cooling water flow low', 12),
        later(1, 'RF_REFL_HIGH', 'Reflected power high', 0.2),
        later(2.2, 'RF_FAULT', 'RF generator fault', 8),
        later(6, 'CHAMBER_TEMP_HIGH', 'Chamber too hot', null),
      ]
    : [];
  const before = alert.startedAt - 3 * 24 * 60 * MIN;
  return {
    ...{ ...evidenceSpan(alert, now), chamber, alarms, moreAlarms: 0 },
    similar: first
      ? [
          {
            ...{ id: 'burst/PC-07/earlier', kind: 'burst', chamber: 'PC-07', headline: 'PC-07: 17 alarms', startedAt: before },
            ...{ closedAt: before + 14 * MIN, likeness: 'same first alarm here', lostRuns: 1 },
            comments: [
              { id: 1, alert: 'burst/PC-07/earlier', at: before, who: 'A. Brandt', deed: 'commented', text: 'hose kinked behind the door' },
            ],
            told: [{ at: before, state: 'unscheduled-downtime', reason: 'house supply', note: 'cooling water', by: 'B. Cole' }],
            followed: { state: 'unscheduled-downtime', reason: 'tripped: RF_FAULT', from: before + 2 * MIN, to: before + 50 * MIN },
          },
        ]
      : [],
    before: [{ at: alert.startedAt - 20 * 60 * MIN, what: 'recipe', text: 'CLN-OA-10, not run here in the week before' }],
  };
}
