/** A node by its path from another, as a client without a book would find it. */
import { makeBrowsePath, type ClientSession } from 'node-opcua';

export async function browsePathToNodeId(session: ClientSession, from: string, path: string): Promise<string> {
  const { targets } = await session.translateBrowsePath(makeBrowsePath(from, path));
  const nodeId = targets?.[0]?.targetId;
  if (nodeId === undefined) throw new Error(`nothing at ${from}${path}`);
  return nodeId.toString();
}
