/**
 * Nodes by namespace URI, because a server may number its namespaces anew at each start.
 */
import { readOperationLimits } from 'node-opcua';
import type { ClientSession } from 'node-opcua';

const OWN_LIMIT = 1000;

/** `nsu=<uri>;s=<id>` as `ns=<index>;s=<id>`; null when the server has no such namespace. */
export function nodeIdIn(namespaces: readonly string[], node: string): string | null {
  const parts = /^nsu=([^;]+);(.+)$/s.exec(node);
  const index = parts ? namespaces.indexOf(parts[1] as string) : -1;
  return index < 0 ? null : `ns=${index};${(parts as RegExpExecArray)[2]}`;
}

export const sameNamespaces = (a: readonly string[], b: readonly string[]): boolean =>
  a.length === b.length && a.every((uri, i) => uri === b[i]);

export type Limits = { readonly items: number; readonly reads: number };

/** 0 means that the server names no limit; ours holds in any case. A server that does not say is taken at 100. */
export async function operationLimits(session: ClientSession): Promise<Limits> {
  const said = await readOperationLimits(session).catch(() => ({ maxMonitoredItemsPerCall: 100, maxNodesPerRead: 100 }));
  return { items: ownLimit(said.maxMonitoredItemsPerCall), reads: ownLimit(said.maxNodesPerRead) };
}

const ownLimit = (said: number | undefined): number => Math.min(said || OWN_LIMIT, OWN_LIMIT);
