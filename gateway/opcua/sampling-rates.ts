/** How often a server will sample what the gateway asks for: asked with a subscription that publishes nothing. */
import { AttributeIds, ClientSubscription, TimestampsToReturn, type ClientSession } from 'node-opcua';
import type { Sampling } from '../../src/tag-map.ts';

export const WANTED_MS: Readonly<Record<Sampling, number>> = { fast: 250, normal: 1000, slow: 5000 };

type Sampled = { readonly node: { readonly sampling: Sampling }; readonly nodeId: string | null };

/** By node id; what is refused is left out. */
export async function ratesOf(session: ClientSession, tags: readonly Sampled[], limit: number): Promise<ReadonlyMap<string, number>> {
  const rates = new Map<string, number>();
  const subscription = ClientSubscription.create(session, { requestedPublishingInterval: 1000, publishingEnabled: false });
  try {
    for (const sampling of ['fast', 'normal', 'slow'] as const) {
      const wanted = tags.flatMap(({ node, nodeId }) => (node.sampling === sampling && nodeId !== null ? [nodeId] : []));
      for (let i = 0; i < wanted.length; i += limit) {
        const batch = wanted.slice(i, i + limit);
        const group = await subscription.monitorItems(
          batch.map((nodeId) => ({ nodeId, attributeId: AttributeIds.Value })),
          { samplingInterval: WANTED_MS[sampling], queueSize: 1 },
          TimestampsToReturn.Neither,
        );
        group.monitoredItems.forEach((item, n) => {
          const revised = item.result?.revisedSamplingInterval;
          if (revised !== undefined && item.statusCode.isGood()) rates.set(batch[n] as string, revised);
        });
      }
    }
  } finally {
    await subscription.terminate();
  }
  return rates;
}
