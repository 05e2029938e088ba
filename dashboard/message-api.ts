/** What the page of links asks of messages, and what a person there may do about them. */
import * as z from 'zod/mini';
import { deliveriesChanged, delivery, deliveryRow, routeLine, type Delivery, type DeliveryRow, type RouteLine } from '../src/contract.ts';
import { get, post } from './api.ts';

const routeLines = z.array(routeLine);
const deliveryRows = z.array(deliveryRow);
const MOST_READ = 300;

export const fetchRoutes = (): Promise<RouteLine[]> => get('/api/routes', routeLines);

export type GivenUp = ReadonlyMap<string, readonly DeliveryRow[]>;

/** By route: given up, and neither sent again nor set aside since, newest first. What left in a digest goes with the digest. */
export async function fetchGivenUp(routes: readonly RouteLine[]): Promise<GivenUp> {
  const path = (route: string): string => `/api/deliveries?${new URLSearchParams({ state: 'dead', route, limit: String(MOST_READ) })}`;
  const lists = routes
    .filter(({ dead }) => dead > 0)
    .map(async ({ route }): Promise<[string, readonly DeliveryRow[]]> => {
      const rows = await get(path(route), deliveryRows);
      return [route, rows.filter(({ digest, stage }) => digest === undefined && stage !== 'test')];
    });
  return new Map(await Promise.all(lists));
}

export const testRoute = (route: string, by: string): Promise<Delivery> =>
  act(`/api/routes/${encodeURIComponent(route)}/test`, by, delivery);
export const resend = (id: string, by: string): Promise<Delivery> => act(`/api/deliveries/${encodeURIComponent(id)}/resend`, by, delivery);
export const setAside = (id: string, by: string): Promise<Delivery> =>
  act(`/api/deliveries/${encodeURIComponent(id)}/set-aside`, by, delivery);

export const resendAll = (route: string, by: string): Promise<number> => actOnAll(route, 'resend', by);
export const setAllAside = (route: string, by: string): Promise<number> => actOnAll(route, 'set-aside', by);

async function actOnAll(route: string, deed: 'resend' | 'set-aside', by: string): Promise<number> {
  return (await act(`/api/routes/${encodeURIComponent(route)}/${deed}`, by, deliveriesChanged)).count;
}

async function act<T>(path: string, by: string, shape: z.ZodMiniType<T>): Promise<T> {
  const read = shape.safeParse(await (await post(path, { by })).json());
  if (!read.success)
    throw new Error('The gateway answered in a form this page does not know: reload the page; if this stays, versions differ.');
  return read.data;
}

/** What became of a test, in a sentence. */
export function testWords({ state, lastError }: Delivery, place: string): string {
  if (state === 'delivered') return `${place} took the message. Look whether it arrived where people read it.`;
  if (state === 'waiting') return `${place} has not answered yet. The test waits for its turn.`;
  return `${place} did not take the message. ${lastError ?? ''}`;
}
