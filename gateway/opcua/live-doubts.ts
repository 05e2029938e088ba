/**
 * What a single value cannot tell of itself: whether a heartbeat steps, and whether a chamber's values of one moment go together.
 */
import { setTimeout as pause } from 'node:timers/promises';
import type { ClientSession, DataValue } from 'node-opcua';
import type { SiteFile } from '../../src/config.ts';
import { doubtsOf } from '../../src/plausible.ts';
import type { SignalValue } from '../../src/reading.ts';
import { isSignalName, type SignalName } from '../../src/signal.ts';
import { bindingsOf, qualityOf, templateOf, valueFor } from '../../src/tag-map.ts';
import { readValues } from './browse.ts';
import type { Tag } from './check-tag.ts';
import { bitsOf, rawValue } from './raw-value.ts';

/** A heartbeat steps about once a second. */
const HEARTBEAT_MS = 3000;

export const FROZEN = `It did not step in ${HEARTBEAT_MS / 1000} s: its controller stands, or this is no heartbeat. Correct the node, or leave it out.`;

/** The heartbeats that stand still: a value that once was good proves nothing. */
export async function stillHearts(
  session: ClientSession,
  tags: readonly Tag[],
  values: ReadonlyMap<string, DataValue>,
): Promise<ReadonlySet<string>> {
  const hearts = tags.flatMap(({ node, nodeId }) =>
    nodeId !== null && node.targets.some(({ signal }) => signal === 'controller.heartbeat') ? [nodeId] : [],
  );
  if (hearts.length === 0) return new Set();
  await pause(HEARTBEAT_MS);
  const later = await readValues(session, hearts, hearts.length);
  const text = (value: DataValue | undefined): string => (value === undefined ? '' : String(rawValue(value.value)));
  return new Set(hearts.filter((heart) => text(values.get(heart)) === text(later.get(heart))));
}

/** By target name: what a chamber's values of this moment say against each other. */
export function allDoubts(site: SiteFile, tags: readonly Tag[], values: ReadonlyMap<string, DataValue>): ReadonlyMap<string, string> {
  const all = tags.flatMap(({ node, nodeId }) => {
    const value = values.get(nodeId ?? '');
    const isGood = value !== undefined && qualityOf(value.statusCode.value) !== 'bad';
    return node.targets.flatMap((target) => {
      const converted =
        isGood && isSignalName(target.signal) ? valueFor(target, rawValue(value.value), bitsOf(value.value.dataType)) : undefined;
      return converted === undefined ? [] : [{ target, converted }];
    });
  });
  const doubts = site.chambers.flatMap((chamber) => {
    const own = all.filter(({ target }) => target.chamber === chamber.id);
    const known = new Map(own.map(({ target, converted }): [SignalName, SignalValue] => [target.signal as SignalName, converted]));
    const template = templateOf(site, chamber);
    const stepCounts = bindingsOf(template, chamber)['recipe.step']?.counts ?? null;
    return doubtsOf(known, { rfMaxW: template.rfMaxW, stepCounts }).flatMap(({ signals, text }) =>
      signals.map((signal) => [`${chamber.id}\t${signal}`, text] as const),
    );
  });
  return new Map(doubts);
}
