/** The engineering units that a server names for its nodes: properties of theirs (OPC 10000-8 5.3.2.3). */
import type { ClientSession } from 'node-opcua';
import { childrenOf, readValues } from './browse.ts';
import { unitOf } from './unit-of.ts';

export async function unitsOf(
  session: ClientSession,
  nodeIds: readonly string[],
  { reads, browses }: { reads: number; browses: number },
): Promise<ReadonlyMap<string, ReturnType<typeof unitOf>>> {
  const properties = new Map<string, string>();
  for (let i = 0; i < nodeIds.length; i += browses) {
    const batch = nodeIds.slice(i, i + browses);
    const children = await childrenOf(
      session,
      batch.map((nodeId) => ({ nodeId })),
    );
    batch.forEach((nodeId, n) => {
      const unit = children[n]?.find(({ browseName }) => browseName.name === 'EngineeringUnits');
      if (unit) properties.set(nodeId, unit.nodeId.toString());
    });
  }
  const values = await readValues(session, [...properties.values()], reads);
  return new Map(
    [...properties].map(([nodeId, property]) => [
      nodeId,
      unitOf((values.get(property)?.value.value as Parameters<typeof unitOf>[0]) ?? null),
    ]),
  );
}
