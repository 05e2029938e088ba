/**
 * Holds a site file against the servers it names: each tag, is it there, may it be read, does its type and unit fit, does it go together with
 * the chamber's other tags, does a heartbeat step, how often will it be sampled; each alarm condition, is it told and replayed; each server, is its clock right, how long does its certificate last. Only browses, reads and subscribes.
 */
import type { SiteFile } from '../../src/config.ts';
import { tagTable } from '../../src/tag-map.ts';
import { readValues } from './browse.ts';
import { serverLines } from './check-clock.ts';
import type { CheckLine } from './check-table.ts';
import { tagLine, type Tag } from './check-tag.ts';
import type { ServerPart } from './client.ts';
import { conditionLines } from './condition-check.ts';
import { allDoubts, FROZEN, stillHearts } from './live-doubts.ts';
import { nodeIdIn, operationLimits } from './namespaces.ts';
import { inOneSession, type Asked } from './one-session.ts';
import { ratesOf } from './sampling-rates.ts';
import { unitsOf } from './told-units.ts';

/** Lines of one server, its own first. A server that cannot be reached is one line. */
export async function checkServer(
  site: SiteFile,
  server: ServerPart,
  { pkiFolder, now }: { pkiFolder: string; now: () => number },
): Promise<readonly CheckLine[]> {
  try {
    return await inOneSession(server, pkiFolder, (asked) => checkAll(site, server, { ...asked, now }));
  } catch (error) {
    return [
      { verdict: 'fault', server: server.name, chamber: '', signal: '', text: error instanceof Error ? error.message : String(error) },
    ];
  }
}

type Looked = Asked & { readonly now: () => number };

async function checkAll(site: SiteFile, server: ServerPart, { session, shown, now }: Looked): Promise<readonly CheckLine[]> {
  const namespaces = await session.readNamespaceArray();
  const { reads, browses, items } = await operationLimits(session);
  const nodes = [...tagTable(site, server.name).values()].filter(({ kind }) => kind === 'value');
  const tags = nodes.map((node): Tag => ({ node, nodeId: nodeIdIn(namespaces, node.node) }));
  const known = tags.flatMap(({ nodeId }) => nodeId ?? []);
  const values = await readValues(session, known, reads);
  const units = await unitsOf(session, known, { reads, browses });
  const rates = await ratesOf(session, tags, items);
  const still = await stillHearts(session, tags, values);
  const doubts = allDoubts(site, tags, values);
  const lines = tags.flatMap((tag) =>
    tag.node.targets.map((target) => {
      const seen = {
        value: values.get(tag.nodeId ?? ''),
        unit: units.get(tag.nodeId ?? '') ?? null,
        rateMs: rates.get(tag.nodeId ?? '') ?? null,
      };
      const line = { server: server.name, chamber: target.chamber, signal: target.signal };
      const judged = tagLine(site, { ...tag, target, seen });
      const doubt = still.has(tag.nodeId ?? '') && target.signal === 'controller.heartbeat' ? FROZEN : doubts.get(target.name);
      return judged.verdict === 'ok' && doubt !== undefined
        ? { ...line, verdict: 'warning' as const, text: `${judged.text}: ${doubt}` }
        : { ...line, ...judged };
    }),
  );
  const conditions = await conditionLines(site, server, { session, namespaces, now });
  const noValues = known.length === 0 && conditions.length > 0;
  const own = serverLines(server, { values: [...values.values()], validTo: shown?.validTo ?? null, now: now() });
  return [...own.slice(noValues ? 1 : 0), ...lines, ...conditions];
}
