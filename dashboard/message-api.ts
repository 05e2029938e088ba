/** What the page of links asks of messages, and what a person there may do about them. */
import * as z from 'zod/mini';
import { delivery, deliveryRow, routeLine, type Delivery, type DeliveryRow, type RouteLine } from '../src/contract.ts';
import { get, post } from './api.ts';

const routeLines = z.array(routeLine);
const deliveryRows = z.array(deliveryRow);
const MOST_SHOWN = 100;

export const fetchRoutes = (): Promise<RouteLine[]> => get('/api/routes', routeLines);

/** Given up, and neither sent again nor set aside since. What left in a digest goes with the digest. */
export const fetchGivenUp = async (): Promise<DeliveryRow[]> =>
  (await get(`/api/deliveries?state=dead&limit=${MOST_SHOWN}`, deliveryRows)).filter(
    ({ digest, stage }) => digest === undefined && stage !== 'test',
  );

export const testRoute = (route: string, by: string): Promise<Delivery> => act(`/api/routes/${encodeURIComponent(route)}/test`, by);
export const resend = (id: string, by: string): Promise<Delivery> => act(`/api/deliveries/${encodeURIComponent(id)}/resend`, by);
export const setAside = (id: string, by: string): Promise<Delivery> => act(`/api/deliveries/${encodeURIComponent(id)}/set-aside`, by);

async function act(path: string, by: string): Promise<Delivery> {
  const read = delivery.safeParse(await (await post(path, { by })).json());
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
