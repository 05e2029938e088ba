/** The gateway killed while its plant goes on: what a server kept is read back and healed, what no server kept stays unobserved. */
import { fork, type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Fleet, StateInterval } from '../../src/contract.ts';
import { soon } from './plant-day.ts';
import { startProgram, type Program } from './program.ts';

const ROOT = join(import.meta.dirname, '../..');
const AWAY_MS = 16_000;
const folder = mkdtempSync(join(tmpdir(), 'glowfleet healing '));
const data = join(folder, 'data');
let plant: ChildProcess;
let args: readonly string[];
let program: Program;

beforeAll(async () => {
  const told = ['serve', '--data', join(folder, 'plant'), '--seed', '7', '--base-port', '0'];
  plant = fork(join(ROOT, 'gateway/simulator/main.ts'), told, { stdio: 'ignore', execArgv: [] });
  const { endpoints } = await new Promise<{ endpoints: Record<string, string> }>((resolve, reject) => {
    plant.on('message', (news: { type: string; endpoints: Record<string, string> }) => void (news.type === 'ready' && resolve(news)));
    plant.once('exit', (code) => reject(new Error(`the plant ended with ${code}`)));
  });
  const servers = Object.entries(endpoints).flatMap(([name, address]) => ['--endpoint', `${name}=${address}`]);
  args = ['run', '--site', join(ROOT, 'gateway/simulator/quellmoor.yaml'), ...servers];
  program = await startProgram({ args, data });
}, 120_000);
afterAll(async () => {
  await program.stop();
  plant.kill();
  rmSync(folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
});

const get = async <T>(path: string): Promise<T> => (await (await fetch(`${program.url}${path}`)).json()) as T;
const allLive = (): Promise<Fleet> =>
  soon('every chamber is heard', 60_000, async () => {
    const fleet = await get<Fleet>('/api/fleet');
    return fleet.chambers.every(({ link }) => link === 'live') ? fleet : null;
  });
const unseenMs = async (chamber: string, from: number, to: number): Promise<number> =>
  (await get<StateInterval[]>(`/api/equipment-time?chamber=${chamber}&from=${from}&to=${to}`))
    .filter(({ state }) => state === 'unobserved')
    .reduce((sum, span) => sum + span.to - span.from, 0);

test('a gap is healed where the server kept it, and unobserved where it did not', { timeout: 180_000 }, async () => {
  const before = await allLive();
  await program.kill();
  await new Promise((done) => setTimeout(done, AWAY_MS));
  program = await startProgram({ args, data });
  const after = await allLive();
  const span = [before.now - 2_000, after.now] as const;
  // Bay Amber's controllers have a memory; Birch's have none.
  await soon('Amber is healed', 20_000, async () => ((await unseenMs('PC-01', ...span)) === 0 ? true : null));
  for (const chamber of ['PC-02', 'PC-03', 'PC-04']) expect(await unseenMs(chamber, ...span), chamber).toBe(0);
  for (const chamber of ['PC-05', 'PC-10']) expect(await unseenMs(chamber, ...span), chamber).toBeGreaterThan(AWAY_MS - 2_000);
});
