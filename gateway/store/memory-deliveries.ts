/** Messages on their way, without a disk. */
import type { Delivery } from '../../src/contract.ts';
import type { AuditRow, DeliveryFilter, DeliveryStore } from './store.ts';

type Answer = <T>(work: () => T) => Promise<T>;
export type DeliveryMemory = DeliveryStore & { readonly born: (delivery: Delivery) => void };

export function deliveryMemory(answer: Answer, audit: AuditRow[]): DeliveryMemory {
  const deliveries = new Map<string, Delivery>();
  return {
    born: (delivery) => void (deliveries.has(delivery.id) || deliveries.set(delivery.id, delivery)),
    deliveries: (filter) =>
      answer(() => {
        const found = [...deliveries.values()].filter((one) => isAsked(one, filter));
        return (filter.newest === true ? found.reverse() : found).slice(0, filter.limit);
      }),
    saveDeliveries: (saved, notes = []) =>
      answer(() => {
        for (const one of saved) deliveries.set(one.id, one);
        audit.push(...notes);
      }),
    lastDelivered: () =>
      answer(() => {
        const last = new Map<string, number>();
        for (const { route, state, deliveredAt } of deliveries.values())
          if (state === 'delivered') last.set(route, Math.max(last.get(route) ?? 0, deliveredAt ?? 0));
        return last;
      }),
  };
}

function isAsked(one: Delivery, filter: DeliveryFilter): boolean {
  return (
    (filter.ids === undefined || filter.ids.includes(one.id)) &&
    (filter.alerts === undefined || filter.alerts.includes(one.alert)) &&
    (filter.states === undefined || filter.states.includes(one.state)) &&
    (filter.routes === undefined || filter.routes.includes(one.route)) &&
    (filter.dueBefore === undefined || (one.state === 'waiting' && (one.nextAt ?? 0) < filter.dueBefore)) &&
    (filter.deliveredFrom === undefined || (one.state === 'delivered' && (one.deliveredAt ?? 0) >= filter.deliveredFrom))
  );
}
