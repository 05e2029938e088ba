/**
 * Nodes by namespace URI, because a server may number its namespaces anew at each start.
 */
import { AttributeIds } from 'node-opcua';
import type { ClientSession } from 'node-opcua';

/** A request of this many nodes stays below the 64 KiB that small servers take, whatever they say of their limits. */
const OWN_LIMIT = 200;

/** `nsu=<uri>;s=<id>` as `ns=<index>;s=<id>`; null when the server has no such namespace. */
export function nodeIdIn(namespaces: readonly string[], node: string): string | null {
  const parts = /^nsu=([^;]+);(.+)$/s.exec(node);
  const index = parts ? namespaces.indexOf(parts[1] as string) : -1;
  return index < 0 ? null : `ns=${index};${(parts as RegExpExecArray)[2]}`;
}

export const sameNamespaces = (a: readonly string[], b: readonly string[]): boolean =>
  a.length === b.length && a.every((uri, i) => uri === b[i]);

export type Limits = { readonly items: number; readonly reads: number; readonly browses: number; readonly histories: number };

/** OPC 10000-5 6.3.11: MaxMonitoredItemsPerCall, MaxNodesPerRead, MaxNodesPerBrowse, MaxNodesPerHistoryReadData. */
const LIMIT_NODES = ['i=11714', 'i=11705', 'i=11710', 'i=12165'];
const UNSAID = 100;

/**
 * 0 means that the server names no limit; ours holds in any case. A server that does not say is taken at 100. Asked for one by one: a server
 * whose limit is below the number of its limits would refuse to tell them together.
 */
export async function operationLimits(session: ClientSession): Promise<Limits> {
  const said: number[] = [];
  for (const nodeId of LIMIT_NODES) {
    const { value } = await session.read({ nodeId, attributeId: AttributeIds.Value });
    said.push(typeof value.value === 'number' ? Math.min(value.value || OWN_LIMIT, OWN_LIMIT) : UNSAID);
  }
  const [items = UNSAID, reads = UNSAID, browses = UNSAID, histories = UNSAID] = said;
  return { items, reads, browses, histories };
}
