/** What a person may do about messages: try a route, send once more what was given up, or set it aside. */
import { newDelivery } from '../../src/alert-plan.ts';
import type { Delivery } from '../../src/contract.ts';
import { Fault } from '../../src/fault.ts';

export type By = { readonly at: number; readonly by: string };
export type Changed = {
  readonly deed: string;
  /** The message itself first. */
  readonly deliveries: readonly Delivery[];
};

export const newTest = (route: string, at: number): Delivery =>
  newDelivery({ alert: `test/${route}/${new Date(at).toISOString()}`, route, stage: 'test', at });

/** The same key: a receiver that had heard it after all can tell. Its time to be given up begins anew. */
export function resent(delivery: Delivery, covered: readonly Delivery[], { at }: By): Changed {
  mustBeDead(delivery);
  const { digest: _, ...alone } = delivery;
  const parts = covered.filter(({ state, digest }) => state === 'dead' && digest === delivery.id);
  return {
    deed: 'resend message',
    deliveries: [{ ...alone, state: 'waiting', nextAt: at, dueAt: at }, ...parts.map((one): Delivery => ({ ...one, state: 'gathered' }))],
  };
}

export function setAside(delivery: Delivery, covered: readonly Delivery[], { by }: By): Changed {
  mustBeDead(delivery);
  const spare = (one: Delivery): Delivery => ({
    ...one,
    state: 'spared',
    nextAt: null,
    lastError: `${by} set it aside. ${one.lastError ?? ''}`.trim(),
  });
  const parts = covered.filter(({ state, digest }) => state === 'dead' && digest === delivery.id);
  return { deed: 'set message aside', deliveries: [delivery, ...parts].map(spare) };
}

/** One message that a person may decide about. */
export const isGivenUp = ({ state, stage, digest }: Delivery): boolean => state === 'dead' && stage !== 'test' && digest === undefined;

function mustBeDead({ state, stage }: Delivery): void {
  if (stage === 'test') throw new Fault('conflict', 'This was a test. Test the route again.');
  if (state !== 'dead') throw new Fault('conflict', `This message was not given up: it is ${state}.`);
}
