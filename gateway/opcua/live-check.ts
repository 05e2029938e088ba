/**
 * Holds a site file against the servers it names: each tag, is it there, may it be read, does its type and unit fit, does it go together with
 * the chamber's other tags, does a heartbeat step, how often will it be sampled; each alarm condition, is it told and replayed; each server, is its clock right, how long does its certificate last. Only browses, reads and subscribes.
 */
import { AttributeIds, ClientSubscription, TimestampsToReturn, type ClientSession, type DataValue } from 'node-opcua';
import { expirySentence } from '../../src/certificate-expiry.ts';
import type { SiteFile, TagBinding } from '../../src/config.ts';
import { isSignalName } from '../../src/signal.ts';
import { qualityOf, tagTable, templateOf, type Sampling, type TagNode, type TagTarget } from '../../src/tag-map.ts';
import { siUnitOf } from '../../src/units.ts';
import { childrenOf, readValues } from './browse.ts';
import type { ServerPart } from './client.ts';
import { conditionLines } from './condition-check.ts';
import { allDoubts, FROZEN, stillHearts } from './live-doubts.ts';
import { nodeIdIn, operationLimits } from './namespaces.ts';
import { inOneSession, type Asked } from './one-session.ts';
import { rawValue } from './raw-value.ts';
import { unitOf } from './unit-of.ts';

export type Verdict = 'ok' | 'warning' | 'fault';
export type CheckLine = {
  readonly verdict: Verdict;
  readonly server: string;
  /** Empty for the server itself. */
  readonly chamber: string;
  readonly signal: string;
  /** What was seen, and where something is off, the cure. */
  readonly text: string;
};

const WANTED_MS: Readonly<Record<Sampling, number>> = { fast: 250, normal: 1000, slow: 5000 };
const LONGEST_VALUE = 40;
const DIGITS = 5;

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
type Tag = { readonly node: TagNode; readonly nodeId: string | null };

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

function serverLines(
  server: ServerPart,
  { values, validTo, now }: { values: readonly DataValue[]; validTo: number | null; now: number },
): CheckLine[] {
  const at = { server: server.name, chamber: '', signal: '' };
  const newest = values.reduce((latest, { sourceTimestamp }) => Math.max(latest, sourceTimestamp?.getTime() ?? 0), 0);
  const offS = (newest - now) / 1000;
  const clock: CheckLine =
    newest === 0
      ? {
          ...at,
          verdict: 'warning',
          text: 'No value bears a time of its own: times will be those of receipt. Switch source timestamps on at the server if it has them.',
        }
      : Math.abs(offS) > server.skewToleranceS
        ? {
            ...at,
            verdict: 'warning',
            text: `The newest value is stamped ${Math.abs(offS).toFixed(0)} s ${offS < 0 ? 'ago' : 'ahead'}: set the controller's clock, or its times will not be believed.`,
          }
        : { ...at, verdict: 'ok', text: `The clock is right to ${Math.max(1, Math.abs(offS)).toFixed(0)} s.` };
  const expiry = validTo === null ? null : expirySentence({ whose: 'server', server: server.name, validTo }, now);
  return [clock, ...(expiry === null ? [] : [{ ...at, verdict: 'warning' as const, text: expiry }])];
}

type Seen = { readonly value: DataValue | undefined; readonly unit: ReturnType<typeof unitOf> | null; readonly rateMs: number | null };
type Judged = Pick<CheckLine, 'verdict' | 'text'>;

function tagLine(site: SiteFile, { node, nodeId, target, seen }: Tag & { target: TagTarget; seen: Seen }): Judged {
  const fault = (text: string): Judged => ({ verdict: 'fault', text });
  if (nodeId === null) return fault(`The server has no namespace of ${node.node}. Look with discover, and correct the node.`);
  const { value, unit, rateMs } = seen;
  if (value === undefined) return fault(`Nothing was answered for ${node.node}.`);
  const status = value.statusCode.name;
  if (/NodeId(Unknown|Invalid)|BadNotFound/.test(status))
    return fault(`There is no node ${node.node}. Look with discover, and correct it.`);
  if (/AccessDenied|NotReadable/.test(status)) return fault(`It may not be read by this user (${status}). Allow reading at the server.`);
  const raw = rawValue(value.value);
  const shown = shownValue(raw);
  if (qualityOf(value.statusCode.value) === 'bad')
    return { verdict: 'warning', text: `Bad at the moment (${status}). Look at the instrument.` };
  if (typeof raw === 'number' && !Number.isFinite(raw))
    return { verdict: 'warning', text: `${shown} at the moment. Look at the instrument; if none is fitted, take the tag out.` };
  const converted = target.bit === null ? target.convert(raw) : true;
  if (converted === undefined) return fault(`Its value "${shown}" cannot be this signal. Correct the node, or give it words or a scale.`);
  const wrongUnit = unitFault(site, target, unit);
  if (wrongUnit !== null) return fault(wrongUnit);
  const wanted = WANTED_MS[node.sampling];
  if (rateMs !== null && rateMs > 2 * wanted)
    return { verdict: 'warning', text: `${shown}, but sampled every ${rateMs} ms instead of ${wanted}: short events will be missed.` };
  const own = bindingOf(site, target);
  if (unit?.text && unit.known === null && own?.unit !== undefined)
    return {
      verdict: 'warning',
      text: `${shown} ${unit.text}: this unit is not known here, and it is taken as ${own.unit}. Compare with the machine's screen.`,
    };
  const takenAs = own?.words !== undefined || own?.inverted === true ? String(converted) : unit?.text ? undefined : own?.unit;
  return { verdict: 'ok', text: `${shown}${unit?.text ? ` ${unit.text}` : ''}${takenAs === undefined ? '' : `, taken as ${takenAs}`}` };
}

const shownValue = (raw: ReturnType<typeof rawValue>): string =>
  (typeof raw === 'number' && Number.isFinite(raw) && !Number.isInteger(raw) ? String(Number(raw.toPrecision(DIGITS))) : String(raw)).slice(
    0,
    LONGEST_VALUE,
  );

function bindingOf(site: SiteFile, { chamber, signal }: TagTarget): TagBinding | undefined {
  const own = site.chambers.find(({ id }) => id === chamber);
  if (own === undefined || !isSignalName(signal)) return undefined;
  return own.tags?.[signal] ?? templateOf(site, own).tags[signal];
}

/** What the server says the unit is, against what the site file says. */
function unitFault(site: SiteFile, target: TagTarget, unit: Seen['unit']): string | null {
  const binding = bindingOf(site, target);
  if (unit?.known == null) return null;
  const told = binding?.unit;
  if (told === undefined || told === unit.known || binding?.scale !== undefined) return null;
  if (told === 'percent-of-full-scale' && unit.known === 'percent') return null;
  const isOther = siUnitOf(told) !== siUnitOf(unit.known);
  return `The site file says ${told}, the server says ${unit.text ?? unit.known}${isOther ? ', which measures something else' : ''}. Compare with the machine's screen and correct one of them.`;
}

async function unitsOf(
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

/** How often the server will sample what the gateway asks for. */
async function ratesOf(session: ClientSession, tags: readonly Tag[], limit: number): Promise<ReadonlyMap<string, number>> {
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

const ORDER: Readonly<Record<Verdict, number>> = { fault: 0, warning: 1, ok: 2 };

/** The lines as a table: what is off first. */
export function checkTable(lines: readonly CheckLine[]): string {
  const sorted = lines.toSorted((a, b) => ORDER[a.verdict] - ORDER[b.verdict]);
  const place = ({ server, chamber, signal }: CheckLine): string => (chamber === '' ? server : `${chamber} ${signal}`);
  const width = Math.min(48, Math.max(...sorted.map((line) => place(line).length)));
  const count = (verdict: Verdict): number => lines.filter((line) => line.verdict === verdict).length;
  const rows = sorted.map(
    (line) => `${line.verdict.padEnd(8)} ${place(line).padEnd(width)}  ${line.text.replaceAll(/[^\x20-\x7e\u00a0-\u024f]+/g, ' ')}`,
  );
  const some = (verdict: Verdict): string => `${count(verdict)} ${verdict}${count(verdict) === 1 ? '' : 's'}`;
  return [...rows, '', `${some('fault')}, ${some('warning')}, ${count('ok')} in order.`].join('\n');
}
