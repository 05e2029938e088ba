import { type ChildProcess, execFile, fork } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { AttributeIds } from 'node-opcua';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { parse } from 'yaml';
import { type Batch, eachInBatch } from '../../../src/batch.ts';
import { siteFile } from '../../../src/config.ts';
import { quietLibrary } from '../../../gateway/simulator/quiet.ts';
import { connectTo, until } from './client.ts';

const MAIN = join(import.meta.dirname, '../../../gateway/simulator/main.ts');
const SLOW_MACHINE_MS = 60_000;

type Message =
  | { type: 'history'; batch: Batch }
  | { type: 'history-end'; at: number }
  | { type: 'ready'; endpoints: Record<string, string>; control: string };
type Running = {
  readonly child: ChildProcess;
  readonly messages: Message[];
  readonly ready: Extract<Message, { type: 'ready' }>;
  mostUnanswered: number;
};

let folder: string;
const running: ChildProcess[] = [];

beforeAll(async () => {
  quietLibrary(() => {});
  folder = await mkdtemp(join(tmpdir(), 'main of the plant '));
});
afterAll(async () => {
  for (const child of running) child.kill('SIGKILL');
  await rm(folder, { recursive: true });
});

/** Forks the real program and answers its history as a gateway would, a little late. */
async function serve(...options: string[]): Promise<Running> {
  const child = fork(MAIN, ['serve', '--base-port', '0', '--data', join(folder, 'data'), ...options], {
    serialization: 'advanced',
    silent: true,
  });
  running.push(child);
  let errors = '';
  child.stderr?.on('data', (text) => (errors += String(text)));
  const messages: Message[] = [];
  let [unanswered, mostUnanswered] = [0, 0];
  child.on('message', (message: Message) => {
    messages.push(message);
    if (message.type !== 'history') return;
    mostUnanswered = Math.max(mostUnanswered, ++unanswered);
    setTimeout(() => {
      unanswered--;
      child.send({ type: 'more' });
    }, 5);
  });
  const ready = () => messages.find((message) => message.type === 'ready');
  await until(() => ready() !== undefined || child.exitCode !== null, SLOW_MACHINE_MS);
  if (child.exitCode !== null) throw new Error(`simulator ended: ${errors}`);
  return { child, messages, ready: ready() as Running['ready'], mostUnanswered };
}

async function stopped(child: ChildProcess, signal: NodeJS.Signals): Promise<{ code: number | null; ms: number }> {
  const from = performance.now();
  const code = new Promise<number | null>((resolve) => child.once('exit', resolve));
  child.kill(signal);
  return { code: await code, ms: performance.now() - from };
}

function typed(...args: string[]): Promise<{ code: number; out: string; errors: string }> {
  return new Promise((resolve) => {
    execFile(process.execPath, [MAIN, ...args], { maxBuffer: 64e6 }, (error, out, errors) => {
      resolve({ code: error === null ? 0 : Number(error.code), out, errors });
    });
  });
}

async function valueOf(run: Running, server: string, path: string): Promise<unknown> {
  const client = await connectTo(run.ready.endpoints[server] as string, folder);
  try {
    const index = (await client.session.readNamespaceArray()).indexOf('urn:quellmoor:hall-3');
    return (await client.session.read({ nodeId: `ns=${index};s=${path}`, attributeId: AttributeIds.Value })).value.value as unknown;
  } finally {
    await client.close();
  }
}

const truth = async (): Promise<string[]> => (await readFile(join(folder, 'truth.jsonl'), 'utf8')).trim().split('\n');

test(
  'a plant tells its past in order, then goes on from there live; stopped and started again it goes on once more',
  async () => {
    const from = Date.now() - 6 * 3_600_000;
    const first = await serve('--history-from', String(from), '--truth', join(folder, 'truth.jsonl'));
    const told = new Map<string, { last: number; backwards: number }>();
    let count = 0;
    for (const message of first.messages) {
      if (message.type !== 'history') continue;
      eachInBatch(message.batch, (name, at) => {
        const known = told.get(name) ?? { last: 0, backwards: 0 };
        told.set(name, { last: at, backwards: known.backwards + (at < known.last ? 1 : 0) });
        count++;
      });
    }
    expect(first.messages[0]?.type).toBe('history');
    expect(Math.max(...[...told.values()].map(({ last }) => last))).toBeGreaterThan(Date.now() - SLOW_MACHINE_MS);
    // Serving already it goes on telling, beat by beat, up to the moment it is asked for: nothing of the story is in neither.
    const wanted = Date.now() + 1000;
    first.child.send({ type: 'until', at: wanted });
    const endOf = () => first.messages.find((message) => message.type === 'history-end');
    await until(() => endOf() !== undefined, SLOW_MACHINE_MS);
    expect(endOf()?.at).toBeGreaterThanOrEqual(wanted);
    const last = first.messages.findLast((message) => message.type === 'history');
    const beats: number[] = [];
    if (last?.type === 'history') eachInBatch(last.batch, (name, at) => name.endsWith('PC-01/Controller/Heartbeat') && beats.push(at));
    expect(beats.at(-1)).toBe(endOf()?.at);
    expect(count).toBeGreaterThan(1000);
    expect(told.has('nsu=urn:quellmoor:hall-3;s=PC-01/Chamber/Pressure')).toBe(true);
    expect(first.mostUnanswered).toBeLessThanOrEqual(3);

    const live = (await valueOf(first, 'amber', 'PC-01/Meter/PumpHours')) as number;
    expect(live).toBeGreaterThan(0);
    expect(await stopped(first.child, 'SIGINT')).toMatchObject({ code: 0 });
    const linesBefore = (await truth()).length;

    const second = await serve('--history-from', String(from), '--truth', join(folder, 'truth.jsonl'));
    expect(second.messages.map((message) => message.type)).toEqual(['ready']); // the past was told once
    const again = (await valueOf(second, 'amber', 'PC-01/Meter/PumpHours')) as number;
    expect(again).toBeGreaterThanOrEqual(live);
    expect(again - live).toBeLessThan(0.1);
    const { code, ms } = await stopped(second.child, 'SIGTERM');
    expect(code).toBe(0);
    expect(ms).toBeLessThan(2000);
    const lines = await truth();
    expect(lines.length).toBeGreaterThanOrEqual(linesBefore);
    for (const line of lines) expect(JSON.parse(line)).toHaveProperty('kind');
  },
  3 * SLOW_MACHINE_MS,
);

test(
  'a running plant takes faults from the command line, listens on loopback only, and holds its ports against a second one',
  async () => {
    const data = join(folder, 'other');
    const run = await serve('--data', data, '--speed', '60');
    const order = (...args: string[]) => typed('fault', ...args, '--control', run.ready.control);
    expect(await order('link-drop', '--chamber', 'PC-12', '--for', '30m')).toMatchObject({
      code: 0,
      out: 'Ordered: link-drop on PC-12.\n',
    });
    await until(() => false, 300).catch(() => {}); // the next beat carries it out
    await expect(connectTo(run.ready.endpoints['cedar-12'] as string, folder)).rejects.toThrow();
    expect((await valueOf(run, 'amber', 'PC-01/Controller/Heartbeat')) as number).toBeGreaterThan(0);
    const wrong = await order('leak', '--chamber', 'PC-99');
    expect(wrong).toEqual({ code: 2, out: '', errors: 'There is no chamber "PC-99". Chambers: PC-01 to PC-12.\n' });

    const heard = await listeners(run.child.pid as number);
    if (heard !== null) {
      expect(heard.length).toBeGreaterThanOrEqual(9); // control, four proxies, four servers behind them
      expect(heard.filter((address) => !address.startsWith('127.0.0.1:'))).toEqual([]);
    }

    const port = new URL(run.ready.endpoints['amber'] as string).port;
    const second = await typed('serve', '--data', join(folder, 'third'), '--base-port', port, '--control-port', '0');
    expect(second.code).toBe(1);
    expect(second.errors).toBe(
      `Port ${port} is in use: stop the program that holds it (another simulator?), or choose others with --base-port and --control-port.\n`,
    );
    run.child.disconnect(); // the gateway died: so ends its plant
    await until(() => run.child.exitCode !== null, 3000);
    expect(run.child.exitCode).toBe(0);
  },
  3 * SLOW_MACHINE_MS,
);

/** Addresses a process listens on; null where the machine has no ss. */
async function listeners(pid: number): Promise<string[] | null> {
  const out = await new Promise<string | null>((resolve) =>
    execFile('ss', ['-Hltnp'], (error, text) => resolve(error === null ? text : null)),
  );
  if (out === null) return null;
  return out.split('\n').flatMap((line) => (line.includes(`pid=${pid},`) ? [line.trim().split(/\s+/)[3] as string] : []));
}

test(
  'a snapshot of another story is refused with one sentence and its cure',
  async () => {
    await writeFile(join(folder, 'foreign.json'), JSON.stringify({ format: 1, seed: 3, chambers: 12, plant: {} }));
    const result = await typed(
      'serve',
      '--base-port',
      '0',
      '--data',
      join(folder, 'fourth'),
      '--plant-snapshot',
      join(folder, 'foreign.json'),
    );
    expect(result.code).toBe(1);
    expect(result.errors).toContain('belongs to --seed 3 --chambers 12: start with these, or delete it to begin a new story.\n');
  },
  SLOW_MACHINE_MS,
);

test(
  'no simulator running, an unknown option and a folder that is not there are one sentence each',
  async () => {
    const [nobody, unknown, nowhere] = await Promise.all([
      typed('fault', 'leak', '--chamber', 'PC-01', '--control', '127.0.0.1:1'),
      typed('truth', '--sed', '7', '--out', 'x'),
      typed('truth', '--days', '1', '--out', join(folder, 'no', 'where.jsonl')),
    ]);
    expect(nobody.errors).toMatch(/^No simulator answers at 127\.0\.0\.1:1: start one .+\n$/);
    expect(unknown.errors).toBe('Unknown option --sed: "truth" takes --out, --seed, --days, --chambers.\n');
    expect(nowhere.errors).toMatch(/^.+where\.jsonl cannot be written: its folder is not there\.\n$/);
    expect([nobody.code, unknown.code, nowhere.code]).toEqual([2, 2, 1]);
  },
  SLOW_MACHINE_MS,
);

test(
  'the same seed tells the same truth, another seed another',
  async () => {
    const story = async (seed: string, name: string) => {
      expect((await typed('truth', '--seed', seed, '--days', '1', '--out', join(folder, name))).code).toBe(0);
      return readFile(join(folder, name), 'utf8');
    };
    const [a, b, c] = [await story('7', 'a'), await story('7', 'b'), await story('8', 'c')];
    expect(a === b).toBe(true);
    expect(a === c).toBe(false);
    expect(a.split('\n').filter((line) => line.includes('"kind":"run"')).length).toBeGreaterThan(20);
  },
  3 * SLOW_MACHINE_MS,
);

test.each([3, 12, 200])(
  'a site file for %i chambers is a valid site whose nodes the plant has',
  async (chambers) => {
    const { code, out } = await typed('site', '--chambers', String(chambers), '--base-port', '5000');
    expect(code).toBe(0);
    const site = siteFile.parse(parse(out));
    expect(site.chambers.length).toBe(chambers);
    expect(new Set(site.chambers.map((one) => one.id)).size).toBe(chambers);
    expect(site.servers.map((one) => one.endpoint)).toEqual(site.servers.map((_, i) => `opc.tcp://127.0.0.1:${5000 + i}`));
    const { createPlant } = await import('../../../gateway/simulator/plant.ts');
    const paths = new Set(createPlant({ seed: 1, from: 0, chambers }).chambers.flatMap((one) => one.tags.map((tag) => tag.path)));
    for (const one of site.chambers) {
      const tags = Object.entries({ ...site.templates[one.template]?.tags, ...one.tags });
      for (const [, tag] of tags) {
        if (tag === null || tag === undefined) continue;
        expect(paths).toContain(tag.node.replace('nsu=urn:quellmoor:hall-3;s=', '').replace('{path}', one.path));
      }
    }
  },
  SLOW_MACHINE_MS,
);
