/**
 * What a server kept while nobody listened: raw history (OPC 10000-11 6.4.3.2), read after a gap before the first live value, in short stretches
 * and told in order of time. It is not claimed to be complete: each value counts as received when it was measured, and the reducer judges
 * what lies between them. Servers without history refuse, and the gap stays a gap.
 */
import { HistoryData, HistoryReadRequest, ReadRawModifiedDetails, TimestampsToReturn } from 'node-opcua';
import type { ClientSession, HistoryReadResult } from 'node-opcua';
import type { TagNode } from '../../src/tag-map.ts';
import type { TagValue } from './intake.ts';

const STRETCH_MS = 5 * 60_000;
const LONGEST_GAP_MS = 24 * 3_600_000;
/** The supervisor must not wait for the past: what was not read by then stays a gap. */
const PATIENCE_MS = 10_000;
const VALUES_PER_NODE = 1000;
/** Of one node in one stretch; a server that always has one more page is not followed for ever. */
const MOST_PAGES = 100;
/** At most; each may bring a thousand values. */
const NODES_PER_CALL = 50;
/** So near the present, live values go on. */
const NEAR_MS = 1000;

export type ArchiveNode = { readonly tag: number; readonly nodeId: string };
export type Gap = {
  readonly session: ClientSession;
  readonly nodes: readonly ArchiveNode[];
  /** Nodes that the server takes a call. */
  readonly limit: number;
  /** Last heard; what was measured later is asked for. */
  readonly from: number;
  readonly now: () => number;
  readonly steadyMs: () => number;
  /** Plant time per real time. */
  readonly speed: number;
};

/** Batches in order of time, each in order of source time. Ends early when the server keeps no history or takes too long. */
export async function* archived(gap: Gap): AsyncGenerator<readonly TagValue[]> {
  const end = gap.steadyMs() + PATIENCE_MS;
  let nodes = gap.nodes;
  let at = Math.max(gap.from, gap.now() - LONGEST_GAP_MS);
  while (nodes.length > 0 && gap.now() - at > NEAR_MS * gap.speed && gap.steadyMs() < end) {
    const to = Math.min(at + STRETCH_MS * gap.speed, gap.now());
    const found = await readStretch({ ...gap, nodes, end }, { from: at, to });
    nodes = nodes.filter(({ tag }) => !found.refused.has(tag));
    yield found.values.toSorted((a, b) => timeOf(a) - timeOf(b));
    at = to;
  }
}

type Stretch = { readonly values: readonly TagValue[]; readonly refused: ReadonlySet<number> };

/** `end`: on the steady clock; what was not read by then stays unread. */
async function readStretch(
  { session, nodes, limit, steadyMs, end }: Gap & { end: number },
  span: { from: number; to: number },
): Promise<Stretch> {
  const values: TagValue[] = [];
  const refused = new Set<number>();
  const atOnce = Math.min(limit, NODES_PER_CALL);
  for (let i = 0; i < nodes.length; i += atOnce) {
    let open = nodes.slice(i, i + atOnce).map((node) => ({ ...node, continuationPoint: undefined as Buffer | undefined }));
    for (let page = 0; open.length > 0 && page < MOST_PAGES && steadyMs() < end; page++) {
      const results = await ask(session, open, span);
      const more: typeof open = [];
      open.forEach((node, n) => {
        const { statusCode, historyData, continuationPoint } = results[n] ?? {};
        if (statusCode === undefined || statusCode.isBad()) return void refused.add(node.tag);
        const told = historyData instanceof HistoryData ? (historyData.dataValues ?? []) : [];
        for (const value of told) if (isInside(value.sourceTimestamp, span)) values.push({ tag: node.tag, value });
        // A continuation without a value would never end.
        if (continuationPoint && continuationPoint.length > 0 && told.length > 0) more.push({ ...node, continuationPoint });
      });
      open = more;
    }
  }
  return { values, refused };
}

async function ask(
  session: ClientSession,
  nodes: readonly { nodeId: string; continuationPoint: Buffer | undefined }[],
  { from, to }: { from: number; to: number },
): Promise<readonly HistoryReadResult[]> {
  const response = await session.historyRead(
    new HistoryReadRequest({
      historyReadDetails: new ReadRawModifiedDetails({
        isReadModified: false,
        startTime: new Date(from),
        endTime: new Date(to),
        numValuesPerNode: VALUES_PER_NODE,
        returnBounds: false,
      }),
      nodesToRead: nodes.map(({ nodeId, continuationPoint }) => ({ nodeId, ...(continuationPoint ? { continuationPoint } : {}) })),
      timestampsToReturn: TimestampsToReturn.Both,
      releaseContinuationPoints: false,
    }),
  );
  return response.results ?? [];
}

/** Half-open at its begin, so that stretches in a row give each value once. */
const isInside = (time: Date | null | undefined, { from, to }: { from: number; to: number }): boolean =>
  time instanceof Date && time.getTime() > from && time.getTime() <= to;

const timeOf = ({ value }: TagValue): number => value.sourceTimestamp?.getTime() ?? 0;

/** The chambers whose clocks go right, by the newest stamp among their present values: a clock that is off would put the past elsewhere. */
export function onTime(
  values: readonly TagValue[],
  nodes: readonly TagNode[],
  { now, toleranceMs }: { now: number; toleranceMs: number },
): ReadonlySet<string> {
  const newest = new Map<string, number>();
  for (const each of values) {
    for (const { chamber } of nodes[each.tag]?.targets ?? []) newest.set(chamber, Math.max(newest.get(chamber) ?? 0, timeOf(each)));
  }
  return new Set([...newest].flatMap(([chamber, at]) => (Math.abs(now - at) <= toleranceMs ? [chamber] : [])));
}
