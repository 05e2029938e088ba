/**
 * The plant of the benchmark: N chambers of one kind with 30 tags each, all behind one server or each behind its own. Bindings, gases and phases
 * are those of the demo's site file. Every analog tag and the heartbeat change each period, the rest with the run.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parse, stringify } from 'yaml';
import { siteFile, type SiteFile } from '../../src/config.ts';
import { SIGNAL_NAMES, SIGNALS, type SignalName } from '../../src/signal.ts';
import { tagTable, type Sampling } from '../../src/tag-map.ts';

const DEMO = join(import.meta.dirname, '../../gateway/simulator/quellmoor.yaml');
export const serverOf = (i: number): string => `bench-${i + 1}`;
export const NAMESPACE = 'urn:quellmoor:hall-3';
export const ALARM = 'WATER_FLOW_LOW';
export const TAGS = 30;
const COLUMNS = 20;
/** Changes with the run, not with the clock. */
export const RARE: readonly SignalName[] = [
  'chamber.doorClosed',
  'recipe.name',
  'recipe.step',
  'recipe.stepCount',
  'recipe.stepDuration',
  'sequence.phaseCode',
  'sequence.mode',
];
const NOT_TAKEN: readonly SignalName[] = ['recipe.stepElapsed', 'recipe.stepDuration'];
const ANALOGS = SIGNAL_NAMES.filter((name) => SIGNALS[name].kind === 'analog' && !NOT_TAKEN.includes(name));
export const FREQUENT: readonly SignalName[] = ['controller.heartbeat', ...ANALOGS];
const TAKEN: readonly SignalName[] = [...FREQUENT, ...RARE];

export type Load = {
  readonly chambers: number;
  /** Between two values of an analog tag. */
  readonly periodMs: number;
  /** Each chamber is read as a server of its own, with a session of its own. */
  readonly apart?: boolean;
};
/** Of those that one process of the bench plays: from, to (not included). */
export type Part = { readonly from: number; readonly to: number };
/** As many servers as one process plays without falling behind, when both sides read each of them. */
export const SERVERS_A_PROCESS = 25;
export type Item = { readonly path: string; readonly sampling: Sampling };

export const chamberId = (i: number): string => `PC-${String(i + 1).padStart(3, '0')}`;
export const alarmPath = (chamber: string): string => `${chamber}/Alarm/${ALARM}`;
export const pressurePath = (chamber: string): string => `${chamber}/Chamber/Pressure`;

export function partsOf({ chambers, apart = false }: Load): readonly Part[] {
  const each = apart ? SERVERS_A_PROCESS : chambers;
  return Array.from({ length: Math.ceil(chambers / each) }, (_, i) => ({ from: i * each, to: Math.min(chambers, (i + 1) * each) }));
}

/** Faster than once a second means that every tag is sampled fast. A port for each part. */
export function benchSite(load: Load, ports: readonly number[]): SiteFile {
  const { chambers, periodMs, apart = false } = load;
  const endpointOf = (i: number): string => `opc.tcp://127.0.0.1:${ports[partsOf(load).findIndex(({ to }) => i < to)]}`;
  const demo = parse(readFileSync(DEMO, 'utf8')) as SiteFile;
  const [surface, drill] = [demo.templates['surface'], demo.templates['drill']];
  const bindings = { ...drill?.tags, ...surface?.tags };
  // What the demo reads every five seconds is read every second here: 1 Hz is 1 Hz.
  const pace = (sampling: Sampling | undefined): Sampling => (periodMs < 1000 || sampling === 'fast' ? 'fast' : 'normal');
  const tags = Object.fromEntries(TAKEN.map((name) => [name, { ...bindings[name], sampling: pace(bindings[name]?.sampling) }]));
  const template = { ...surface, gases: { ...drill?.gases, ...surface?.gases }, tags, alarms: { [ALARM]: surface?.alarms[ALARM] } };
  if (TAKEN.length + 1 !== TAGS) throw new Error(`the benchmark says ${TAGS} tags and has ${TAKEN.length + 1}`);
  return siteFile.parse({
    site: demo.site,
    servers: Array.from({ length: apart ? chambers : 1 }, (_, i) => ({ name: serverOf(i), endpoint: endpointOf(i), security: 'none' })),
    templates: { bench: template },
    chambers: Array.from({ length: chambers }, (_, i) => ({
      id: chamberId(i),
      bay: 'Bench',
      floor: { column: (i % COLUMNS) + 1, row: Math.floor(i / COLUMNS) + 1 },
      server: serverOf(apart ? i : 0),
      template: 'bench',
      path: chamberId(i),
    })),
  });
}

export const siteText = (site: SiteFile): string => stringify(site, { aliasDuplicateObjects: false });

/** What a client of each server has to monitor: the same for both sides. */
export function items(site: SiteFile): readonly { readonly endpoint: string; readonly wanted: readonly Item[] }[] {
  const prefix = `nsu=${NAMESPACE};s=`;
  const nodes = Map.groupBy(tagTable(site).values(), ({ server }) => server);
  return site.servers.map(({ name, endpoint }) => ({
    endpoint,
    wanted: (nodes.get(name) ?? []).flatMap(({ kind, node, sampling }) =>
      kind === 'value' ? [{ path: node.slice(prefix.length), sampling }] : [],
    ),
  }));
}

/** A load as a process of the bench takes it, and back. */
export const loadWords = ({ chambers, periodMs, apart = false }: Load): readonly string[] =>
  [chambers, periodMs, Number(apart)].map(String);
export function loadOf([chambers = '12', periodMs = '1000', apart = '0']: readonly string[]): Load {
  return { chambers: Number(chambers), periodMs: Number(periodMs), apart: apart === '1' };
}

/** The node of a chamber's signal, as the server names it. */
export function pathOf(site: SiteFile, signal: SignalName, chamber: string): string {
  const node = site.templates['bench']?.tags[signal]?.node ?? '';
  return node.replace(`nsu=${NAMESPACE};s=`, '').replace('{path}', chamber);
}
