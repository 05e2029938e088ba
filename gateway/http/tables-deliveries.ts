/** The columns of the CSV exports of messages and routes. */
import type { DeliveryRow, RouteLine } from '../../src/contract.ts';
import { utc, type Column } from './csv.ts';

export const ROUTE_COLUMNS: readonly Column<RouteLine>[] = [
  { head: 'route', cell: (r) => r.route },
  { head: 'type', cell: (r) => r.type },
  { head: 'goes to', cell: (r) => r.place },
  { head: 'state', cell: (r) => r.state },
  { head: 'last delivered (UTC)', cell: (r) => utc(r.lastDeliveredAt) },
  { head: 'failing since (UTC)', cell: (r) => utc(r.failingSince) },
  { head: 'last error', cell: (r) => r.lastError },
  { head: 'waiting', cell: (r) => r.waiting },
  { head: 'given up', cell: (r) => r.dead },
];

export const DELIVERY_COLUMNS: readonly Column<DeliveryRow>[] = [
  { head: 'message', cell: (d) => d.id },
  { head: 'alert', cell: (d) => d.alert },
  { head: 'headline', cell: (d) => d.headline },
  { head: 'route', cell: (d) => d.route },
  { head: 'stage', cell: (d) => d.stage },
  { head: 'state', cell: (d) => d.state },
  { head: 'left in digest', cell: (d) => d.digest ?? null },
  { head: 'attempts', cell: (d) => d.attempts },
  { head: 'due (UTC)', cell: (d) => utc(d.dueAt ?? null) },
  { head: 'next attempt (UTC)', cell: (d) => utc(d.nextAt) },
  { head: 'delivered (UTC)', cell: (d) => utc(d.deliveredAt) },
  { head: 'why not', cell: (d) => d.lastError },
];
