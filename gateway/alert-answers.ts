/**
 * The inbox: alerts with what belongs to them, and what persons do about them. One act at a time: each sees the ones before it committed, so
 * that a second click comments once. Every act is on disk with its audit row before any page hears of it.
 */
import { firstComment, type NewAct } from '../src/alert-act.ts';
import type { InboxAlert } from '../src/alert-inbox.ts';
import { checkedMute, muteOf, type Mute } from '../src/alert-mute.ts';
import type { Alert } from '../src/contract.ts';
import { Fault } from '../src/fault.ts';
import type { AlertBoard } from './alert-board.ts';
import { openEvidence, type EvidenceParts } from './alert-evidence.ts';
import type { AlertAnswers } from './http/answers-port.ts';
import { turns } from './turns.ts';

export type AlertParts = EvidenceParts & { readonly board: AlertBoard };

export function alertAnswers(parts: AlertParts): AlertAnswers {
  const { plant, store, clock, board } = parts;
  const inTurn = turns();
  const rows = (alerts: readonly Alert[]) => inboxAlerts(parts, alerts);
  const one = async (id: string): Promise<InboxAlert> => {
    const [row] = await rows(await store.alerts({ ids: [id] }));
    if (row === undefined) throw new Fault('not-found', 'There is no such alert. /api/alerts lists them.');
    return row;
  };
  const act = (deed: Omit<NewAct, 'at'>): Promise<InboxAlert> =>
    inTurn(async () => {
      const done = { ...deed, at: clock.now() };
      const isSecond = done.deed === 'commented' && firstComment(done, await store.acts([done.alert]), clock.speed) !== undefined;
      if (!isSecond) board.acted(await store.actOnAlert(done));
      return one(done.alert);
    });
  return {
    alerts: async ({ after, ...query }) => {
      const last = after === undefined ? undefined : await one(after);
      return rows(await store.alerts({ ...query, ...(last && { after: last }) }));
    },
    alert: one,
    evidence: async (id) => openEvidence(parts, await one(id)),
    acknowledge: (alert, who) => act({ alert, who, deed: 'acknowledged', text: '' }),
    take: (alert, who, from = '') => act({ alert, who, deed: 'taken', text: from }),
    giveBack: (alert, who) => act({ alert, who, deed: 'given back', text: '' }),
    comment: (alert, who, text) => act({ alert, who, deed: 'commented', text }),
    mutes: (limit) => store.allMutes(limit),
    mute: ({ by: who, alert = null, shared = null, chamber, ...draft }) =>
      inTurn(async () => {
        if (chamber !== null) plant.chamber(chamber);
        const made = await store.addMute(checkedMute({ ...draft, chamber, shared, who, alert, from: clock.now() }));
        await board.muted();
        return made;
      }),
    unmute: (id, who) =>
      inTurn(async () => {
        const over = await store.endMute(id, { at: clock.now(), who });
        await board.muted();
        return over;
      }),
  };
}

async function inboxAlerts({ store, clock }: AlertParts, alerts: readonly Alert[]): Promise<readonly InboxAlert[]> {
  const ids = alerts.map(({ id }) => id);
  const [deliveries, acts, mutes] = await Promise.all([store.deliveries({ alerts: ids }), store.acts(ids), store.mutes(clock.now())]);
  const [sent, done] = [Map.groupBy(deliveries, ({ alert }) => alert), Map.groupBy(acts, ({ alert }) => alert)];
  const on: readonly Mute[] = mutes;
  return alerts.map((alert) => ({
    ...alert,
    deliveries: sent.get(alert.id) ?? [],
    acts: done.get(alert.id) ?? [],
    mute: alert.state === 'open' ? muteOf(alert, on) : null,
  }));
}
