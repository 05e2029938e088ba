/**
 * The simulated plant as a stream of readings at 1 Hz, the way a client would hear it: through the site file's tag table, silent while a link
 * is away or a controller says nothing, everything told again when it is back. Keeps the plant's own truth beside it.
 */
import { readFileSync } from 'node:fs';
import { parse } from 'yaml';
import type { PlantSink, RawValue, TruthLine } from '../../gateway/simulator/plant-port.ts';
import { createPlant } from '../../gateway/simulator/plant.ts';
import type { SimulatedPlant } from '../../gateway/simulator/plant.ts';
import { siteFile } from '../../src/config.ts';
import type { SiteFile } from '../../src/config.ts';
import type { Reading } from '../../src/reading.ts';
import { readingsOf, tagTable } from '../../src/tag-map.ts';
import type { TagNode, WordMemory } from '../../src/tag-map.ts';

const SITE = new URL('../../gateway/simulator/quellmoor.yaml', import.meta.url);
const NAMESPACE = 'nsu=urn:quellmoor:hall-3;s=';
/** The link's own deadline: so long after the last word it says that nothing was heard. */
const SILENCE_MS = 12_000;

export const demoSite = (): SiteFile => siteFile.parse(parse(readFileSync(SITE, 'utf8')));

export type Hole = { readonly chamber: string; readonly from: number; to: number };
export type Feed = {
  readonly plant: SimulatedPlant;
  readonly truth: readonly TruthLine[];
  /** Every stretch over 10 s in which nothing was heard of a chamber. */
  readonly holes: readonly Hole[];
  /** Tells the next second's readings by chamber, in order of arrival. */
  second(): ReadonlyMap<string, Reading[]>;
};

type Source = { readonly node: TagNode | undefined; last: { value: RawValue; at: number } | null };
type Listened = {
  readonly id: string;
  readonly server: string;
  readonly sources: Source[];
  heardAt: number;
  away: boolean;
  silent: boolean;
};

export function plantFeed(order: { seed: number; from: number; site: SiteFile }): Feed {
  const truth: TruthLine[] = [];
  const holes: Hole[] = [];
  const plant = createPlant({ seed: order.seed, from: order.from, truth: (line) => void truth.push(line) });
  const table = tagTable(order.site);
  const memory: WordMemory = new Map();
  const listened = plant.chambers.map((chamber): Listened => {
    const texts = [...chamber.tags.map(({ path }) => path), ...chamber.conditions.map(({ name }) => `${chamber.id}#${name}`)];
    const sources = texts.map((text): Source => ({ node: table.get(NAMESPACE + text), last: null }));
    return { id: chamber.id, server: chamber.server, sources, heardAt: order.from, away: false, silent: false };
  });
  let told = new Map<string, Reading[]>();
  const push = (reading: Reading): void => {
    const list = told.get(reading.chamber);
    if (list) list.push(reading);
    else told.set(reading.chamber, [reading]);
  };
  const presence = ({ id }: Listened, value: boolean, at: number): void =>
    push({ chamber: id, signal: 'link.alive', value, quality: 'good', at, timeOrigin: 'receipt', receivedAt: plant.now });
  const hear = (from: Listened, { node }: Source, value: RawValue, at: number): void => {
    if (!node) return;
    if (plant.now - from.heardAt > 10_000) holes.push({ chamber: from.id, from: from.heardAt, to: plant.now });
    from.heardAt = plant.now;
    readingsOf(node, value, 'good', memory, ({ chamber, signal }, si, quality) =>
      push({ chamber, signal, value: si, quality, at, timeOrigin: 'source', receivedAt: plant.now }),
    );
  };
  const tell = (chamber: number, place: number, value: RawValue, at: number): void => {
    const from = listened[chamber] as Listened;
    const source = from.sources[place] as Source;
    source.last = { value, at };
    if (!from.away) hear(from, source, value, at);
  };
  /** A new subscription: every present value with the time of its last change. */
  const tellAgain = (from: Listened): void => {
    if (holes.at(-1)?.chamber !== from.id || plant.now - from.heardAt > 10_000)
      holes.push({ chamber: from.id, from: from.heardAt, to: plant.now });
    from.heardAt = plant.now;
    for (const { node } of from.sources) if (node) memory.delete(node);
    for (const source of from.sources) if (source.last) hear(from, source, source.last.value, source.last.at);
    presence(from, true, plant.now);
    from.silent = false;
  };
  const sink: PlantSink = {
    tag: (chamber, tag, value, at) => tell(chamber, tag, value, at),
    condition: (chamber, condition, active, at) => tell(chamber, (plant.chambers[chamber]?.tags.length ?? 0) + condition, active, at),
    link(server, state) {
      for (const from of listened) {
        if (from.server !== server) continue;
        if (state === 'up' && from.away) {
          from.away = false;
          tellAgain(from);
        } else if (state !== 'up') from.away = true;
      }
    },
  };
  let first = true;
  return {
    plant,
    truth,
    holes,
    second() {
      told = new Map();
      plant.advance(plant.now + 1000, sink);
      if (first) for (const from of listened) presence(from, true, plant.now);
      first = false;
      for (const from of listened) {
        if (!from.away || from.silent || plant.now - from.heardAt < SILENCE_MS) continue;
        from.silent = true;
        presence(from, false, from.heardAt);
      }
      return told;
    },
  };
}
