/** The real program: starts, answers, survives being killed, ends cleanly, and refuses with one sentence. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { createServer, type AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Fleet } from '../../src/contract.ts';
import { startProgram, type Program } from './program.ts';

const fleetOf = async ({ url }: Program): Promise<Fleet> => (await (await fetch(`${url}/api/fleet`)).json()) as Fleet;

async function until(claim: () => Promise<boolean>, withinMs: number): Promise<void> {
  for (const end = performance.now() + withinMs; performance.now() < end; await new Promise((done) => setTimeout(done, 200))) {
    if (await claim()) return;
  }
  throw new Error(`not within ${withinMs} ms`);
}

describe('the demo', () => {
  const data = mkdtempSync(join(tmpdir(), 'glowfleet e2e '));
  let program: Program;
  beforeAll(async () => {
    program = await startProgram({ data, speed: 30 });
  }, 120_000);
  afterAll(async () => {
    await program.stop();
    rmSync(data, { recursive: true, force: true });
  });

  test('hears every chamber of the simulated plant over OPC UA', { timeout: 60_000 }, async () => {
    await until(async () => (await fleetOf(program)).chambers.filter((tile) => tile.link === 'live').length === 12, 45_000);
  });

  test('goes on after kill -9 with the same books and a new boot', { timeout: 120_000 }, async () => {
    await until(async () => (await fleetOf(program)).seq > 20, 60_000);
    const before = await fleetOf(program);
    await program.kill();
    program = await startProgram({ data, speed: 30 });
    const after = await fleetOf(program);
    expect(after.seq).toBeGreaterThanOrEqual(before.seq);
    expect(after.boot).not.toBe(before.boot);
    expect(after.now).toBeGreaterThan(before.now - 60_000);
  });

  test('keeps a second gateway out of its folder', () => {
    const second = run(['demo', '--port', '0', '--base-port', '0', '--data', data]);
    expect(second).toMatchObject({ status: 1, stdout: '' });
    expect(second.stderr.trim()).toBe(
      `Another Glowfleet gateway is using the data folder ${data}. Stop that one, or choose another folder with --data.`,
    );
  });

  test('ends within 3 s on Ctrl-C, with code 0 and no process left', { timeout: 60_000 }, async () => {
    const started = performance.now();
    expect(await program.stop()).toBe(0);
    expect(performance.now() - started).toBeLessThan(3_000);
    expect(spawnSync('pgrep', ['-f', data]).stdout.toString()).toBe('');
  });
});

const run = (args: readonly string[]) => spawnSync(process.execPath, ['gateway/main.ts', ...args], { encoding: 'utf8', timeout: 30_000 });

describe('the program refuses with one sentence, code 1 and the cure', () => {
  test('a port in use, before anything else is begun', async () => {
    const holder = createServer();
    await new Promise<void>((done) => holder.listen(0, '127.0.0.1', done));
    const { port } = holder.address() as AddressInfo;
    const { status, stderr } = run(['demo', '--port', `${port}`, '--data', join(tmpdir(), 'never made')]);
    holder.close();
    expect(status).toBe(1);
    expect(stderr).toBe(
      `Port ${port} on 127.0.0.1 is already in use. Stop the program that holds it, or choose another port with --port.\n`,
    );
  });

  test.runIf(process.platform === 'linux')('a data folder that cannot be made', () => {
    const { status, stderr } = run(['run', '--site', 'tests/configs/good-small.yaml', '--data', '/proc/glowfleet', '--port', '0']);
    expect(status).toBe(1);
    expect(stderr).toBe(
      'The data folder /proc/glowfleet cannot be made (ENOENT). Give this user permission to write there, or choose another folder with --data.\n',
    );
  });

  test('a broken site file, with line and cure of every fault', () => {
    const { status, stderr } = run(['check', '--site', 'tests/configs/bad-numbers.yaml']);
    expect(status).toBe(1);
    expect(stderr).toBe(
      'tests/configs/bad-numbers.yaml:8 templates.small.rfMaxW: saw -5; it must be more than 0\n' +
        'tests/configs/bad-numbers.yaml:9 templates.small.basePressurePa: saw "low"; it must be a number\n',
    );
  });
});
