/** Routes of messages for the mock: one that works, one that is down with messages waiting and given up, and the sign of life. */
import type { Delivery, DeliveryRow, RouteLine } from '../../src/contract.ts';

const MINUTE = 60_000;
const GIVEN_UP = 47;

export function routesOf(now: number): RouteLine[] {
  const well = { state: 'well', failingSince: null, lastError: null, waiting: 0, dead: 0, lastDeliveredAt: now - 12 * MINUTE } as const;
  const down = {
    state: 'failing',
    failingSince: now - 47 * MINUTE,
    waiting: 3,
    dead: GIVEN_UP,
    lastDeliveredAt: now - 300 * MINUTE,
  } as const;
  return [
    { route: 'process engineering', type: 'mail', place: 'process@quellmoor.example, night.shift@quellmoor.example', ...well },
    {
      route: 'engineer on duty',
      type: 'webhook',
      place: 'https://pager.quellmoor.example',
      ...down,
      lastError: 'The webhook answered 503.',
    },
    { route: 'heartbeat', type: 'heartbeat', place: 'https://watcher.example', ...well },
  ];
}

export function givenUpOf(now: number): DeliveryRow[] {
  const one: Delivery = {
    ...{ id: 'down/PC-05/x|engineer on duty|opened', alert: 'down/PC-05/x', route: 'engineer on duty', stage: 'opened', state: 'dead' },
    ...{ attempts: 1, nextAt: null, deliveredAt: null, dueAt: now - 90 * MINUTE },
    lastError: 'The webhook answered 404. Check the address in the site file.',
  };
  return Array.from({ length: GIVEN_UP }, (_, i) => ({
    ...one,
    id: `${i}/${one.id}`,
    headline: 'PC-05: down for 34 minutes: vacuum pump',
  }));
}

export const testedBy = (route: string, now: number): Delivery => ({
  ...{ id: `test/${route}/x|${route}|test`, alert: `test/${route}/x`, route, stage: 'test', state: 'delivered' },
  ...{ attempts: 1, nextAt: null, deliveredAt: now, lastError: null, dueAt: now },
});
