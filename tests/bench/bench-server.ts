/**
 * A plain OPC UA server of the benchmark, a process of its own: its chambers go through runs of ten minutes, analog tags change each period.
 * Told so by its parent, it writes one tag and answers when it did.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DataType, MessageSecurityMode, OPCUACertificateManager, OPCUAServer, SecurityPolicy, StatusCodes } from 'node-opcua';
import type { Namespace, UAObject, UAVariable } from 'node-opcua';
import { silenceLibrary } from '../../gateway/opcua/client.ts';
import { SIGNALS, type SignalKind, type SignalName } from '../../src/signal.ts';
import { alarmPath, benchSite, chamberId, FREQUENT, loadOf, NAMESPACE, partsOf, pathOf, RARE, type Part } from './bench-site.ts';

export type ServerReady = { readonly port: number };
/** A tag to write at once; the drive keeps its hands off it from then on. */
export type WriteOrder = { readonly path: string; readonly value: number | boolean };
export type Written = { readonly path: string; readonly value: number | boolean; readonly at: number };

type Value = number | boolean | string;
type Tag = { readonly path: string; readonly variable: UAVariable; readonly dataType: DataType };
/** Code of the site file, length, pressure in mTorr, oxygen in sccm, forward power in W. */
type Step = { readonly code: number; readonly s: number; readonly mTorr: number; readonly sccm: number; readonly w: number };

const SLICE_MS = 50;
const CYCLE: readonly Step[] = [
  { code: 5, s: 60, mTorr: 759_000, sccm: 0, w: 0 },
  { code: 10, s: 90, mTorr: 900, sccm: 0, w: 0 },
  { code: 20, s: 20, mTorr: 280, sccm: 600, w: 0 },
  { code: 30, s: 300, mTorr: 300, sccm: 600, w: 900 },
  { code: 40, s: 40, mTorr: 200, sccm: 0, w: 0 },
  { code: 60, s: 40, mTorr: 400_000, sccm: 0, w: 0 },
  { code: 75, s: 50, mTorr: 759_000, sccm: 0, w: 0 },
];
const CYCLE_S = CYCLE.reduce((sum, { s }) => sum + s, 0);
/** The first chamber, whose pressure is watched, begins in plasma. */
const FIRST_S = 180;
const APART_S = 37;
/** Of two sides with a session per chamber. */
const MOST_SESSIONS = 4000;

const load = loadOf(process.argv.slice(2));
const { periodMs } = load;
const { from, to } = partsOf(load)[Number(process.argv[5] ?? 0)] as Part;
const chambers = Array.from({ length: to - from }, (_, n) => from + n);
const site = benchSite(load, [1]);
const pki = mkdtempSync(join(tmpdir(), 'bench-server-'));
const tags: ReadonlyMap<SignalName, Tag>[] = [];
const byPath = new Map<string, Tag>();
const held = new Set<string>();
let startedAt = Date.now();
let done = 0;

silenceLibrary();
process.on('disconnect', () => process.exit(0));
process.on('exit', () => rmSync(pki, { recursive: true, force: true }));
process.on('message', ({ path, value }: WriteOrder) => {
  const tag = byPath.get(path);
  if (tag === undefined) return;
  held.add(path);
  const at = Date.now();
  set(tag, value, new Date(at));
  process.send?.({ path, value, at } satisfies Written);
});
const port = await serve();
startedAt = Date.now();
for (const i of chambers) {
  enter(i, stepAt(i, startedAt));
  tell(i, 0, new Date());
}
setInterval(drive, SLICE_MS);
process.send?.({ port } satisfies ServerReady);

async function serve(): Promise<number> {
  const certificates = new OPCUACertificateManager({ rootFolder: pki, automaticallyAcceptUnknownCertificate: true });
  const server = new OPCUAServer({
    port: 0,
    host: '127.0.0.1',
    serverCertificateManager: certificates,
    userCertificateManager: certificates,
    securityModes: [MessageSecurityMode.None],
    securityPolicies: [SecurityPolicy.None],
    maxConnectionsPerEndpoint: MOST_SESSIONS,
    serverCapabilities: { minSupportedSampleRate: 0, maxSessions: MOST_SESSIONS, maxSubscriptions: 4 * MOST_SESSIONS },
  });
  await server.initialize();
  const space = server.engine.addressSpace;
  if (!space) throw new Error('no address space');
  const namespace = space.registerNamespace(NAMESPACE);
  for (const i of chambers)
    addChamber(namespace, namespace.addObject({ browseName: chamberId(i), organizedBy: space.rootFolder.objects }), i);
  await server.start();
  return server.endpoints[0]?.port ?? 0;
}

function addChamber(namespace: Namespace, parent: UAObject, i: number): void {
  const id = chamberId(i);
  const signals = new Map(
    [...FREQUENT, ...RARE].map((signal) => [signal, addTag(namespace, parent, pathOf(site, signal, id), SIGNALS[signal].kind)] as const),
  );
  tags[i] = signals;
  const alarm = addTag(namespace, parent, alarmPath(id), 'boolean');
  for (const tag of [alarm, ...signals.values()]) byPath.set(tag.path, tag);
  set(alarm, false, new Date());
}

function addTag(namespace: Namespace, parent: UAObject, path: string, kind: SignalKind): Tag {
  const dataType = kind === 'boolean' ? DataType.Boolean : kind === 'text' && !path.endsWith('/Mode') ? DataType.String : DataType.Double;
  const variable = namespace.addVariable({
    browseName: path,
    nodeId: `s=${path}`,
    componentOf: parent,
    dataType,
    minimumSamplingInterval: 0,
  });
  return { path, variable, dataType };
}

function tagOf(i: number, signal: SignalName): Tag {
  return tags[i]?.get(signal) as Tag;
}

function set({ variable, dataType }: Tag, value: Value, at: Date): void {
  variable.setValueFromSource({ dataType, value }, StatusCodes.Good, at);
}

/** The chambers that are due, spread evenly over the period. */
function drive(): void {
  const due = Math.floor(((Date.now() - startedAt) / periodMs) * chambers.length);
  const at = new Date();
  for (; done < due; done++) tell(chambers[done % chambers.length] as number, Math.floor(done / chambers.length), at);
}

function tell(i: number, round: number, at: Date): void {
  const step = stepAt(i, at.getTime());
  if (step !== stepAt(i, at.getTime() - periodMs)) enter(i, step);
  const noise = ((i * 7919 + round * 104_729) % 1000) / 1000;
  FREQUENT.forEach((signal, k) => {
    const tag = tagOf(i, signal);
    if (!held.has(tag.path)) set(tag, frequentValue(signal, step, { round, noise: (noise + k / 17) % 1 }), at);
  });
}

/** A value around what the step makes it; the heartbeat counts. */
function frequentValue(signal: SignalName, { mTorr, sccm, w }: Step, { round, noise }: { round: number; noise: number }): number {
  switch (signal) {
    case 'controller.heartbeat':
      return round;
    case 'chamber.pressure':
      return mTorr * (1 + noise / 50);
    case 'gas.1.flow':
    case 'gas.1.flowSetPoint':
      return sccm + noise;
    case 'rf.forward':
    case 'rf.forwardSetPoint':
      return w + noise;
    case 'rf.reflected':
      return w / 100 + noise;
    default:
      return signal.startsWith('gas.') ? noise : 40 + noise;
  }
}

function enter(i: number, { code }: Step): void {
  const isOpen = code === 5 || code === 75;
  const at = new Date();
  const values: Record<string, Value> = {
    'chamber.doorClosed': !isOpen,
    'recipe.name': 'SRF-O2-ACTIVATE',
    'recipe.step': code === 30 ? 1 : 0,
    'recipe.stepCount': 1,
    'recipe.stepDuration': 300,
    'sequence.phaseCode': code,
    'sequence.mode': 1,
  };
  for (const signal of RARE) set(tagOf(i, signal), values[signal] ?? 0, at);
}

function stepAt(i: number, ms: number): Step {
  let into = (FIRST_S + i * APART_S + (ms - startedAt) / 1000) % CYCLE_S;
  return CYCLE.find(({ s }) => (into -= s) < 0) ?? (CYCLE[0] as Step);
}
