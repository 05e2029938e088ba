/** The link process as a process: how often it is started again, that it ends with the gateway, and that hurried plant time works. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { join } from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { acceleratedClock, systemClock } from '../../../gateway/clock.ts';
import { openLink } from '../../../gateway/opcua/link.ts';
import { newFolder, nodeText, startFixture } from './fixture-server.ts';
import { Heard, siteWith } from './heard.ts';

const undo: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

const BEAT = { path: 'A1/Beat', type: 'UInt32', value: 0 } as const;
const beatTag = { 'controller.heartbeat': { node: nodeText('{path}/Beat'), sampling: 'fast' } };

test('a link process that keeps dying is left alone for a while, and the status says so', async () => {
  const heard = new Heard();
  const site = siteWith(48798, { tags: beatTag });
  const link = openLink({
    site,
    clock: systemClock(),
    pkiFolder: newFolder(),
    events: heard.events,
    restart: { limit: 2, withinMs: 60_000, pauseMs: 300_000 },
  });
  undo.push(() => link.stop());
  await link.start();
  for (let deaths = 1; deaths <= 3; deaths++) {
    process.kill(link.pids[0] ?? 0, 'SIGKILL');
    await heard.until(
      `death ${deaths}`,
      () => heard.statuses.filter(({ message }) => /ended unexpectedly/.test(message)).length === deaths,
    );
    if (deaths < 3) await expect.poll(() => link.pids.length).toBe(1);
  }
  expect(heard.status).toMatchObject({ state: 'refused', message: expect.stringMatching(/SIGKILL.*next try is in 5 minutes/) });
  expect(link.pids).toEqual([]);
});

test('a link process that cannot be started at all is tried again like one that died', async () => {
  const heard = new Heard();
  const restart = { limit: 2, withinMs: 60_000, pauseMs: 300_000 };
  const site = siteWith(48795, { tags: beatTag });
  const link = openLink({ site, clock: systemClock(), pkiFolder: newFolder(), events: heard.events, restart });
  const { execPath } = process;
  undo.push(() => link.stop());
  undo.push(async () => void (process.execPath = execPath));
  process.execPath = join(newFolder(), 'not-there');
  await link.start();
  await heard.until('the pause', () => /next try is in 5 minutes/.test(heard.status?.message ?? ''));
  expect(heard.status).toMatchObject({ state: 'refused', message: expect.stringMatching(/ENOENT/) });
  expect(heard.statuses.filter(({ message }) => /ended unexpectedly/.test(message))).toHaveLength(3);
});

test('servers behind a process that keeps dying are shared between two, so that one of them alone is left to wait', async () => {
  const server = await startFixture({ tags: [BEAT] });
  undo.push(() => server.close());
  const heard = new Heard();
  const one = siteWith(server.port, { tags: beatTag });
  const [plc, chamber] = [one.servers[0], one.chambers[0]] as [(typeof one.servers)[0], (typeof one.chambers)[0]];
  const site = {
    ...one,
    servers: [plc, { ...plc, name: 'plc-2', endpoint: 'opc.tcp://127.0.0.1:48796' }],
    chambers: [chamber, { ...chamber, id: 'PC-02', server: 'plc-2' }],
  };
  const link = openLink({
    site,
    clock: systemClock(),
    pkiFolder: newFolder(),
    events: heard.events,
    restart: { limit: 0, withinMs: 60_000, pauseMs: 300_000 },
  });
  undo.push(() => link.stop());
  await link.start();
  process.kill(link.pids[0] ?? 0, 'SIGKILL');
  await expect.poll(() => link.pids.length).toBe(2);
  process.kill(link.pids[1] ?? 0, 'SIGKILL');
  await heard.until('plc-2 waits', () => heard.status?.server === 'plc-2' && /5 minutes/.test(heard.status.message));
  await heard.until('plc-1 is read', () => heard.last('controller.heartbeat', 'PC-01') !== undefined);
  expect(link.pids).toHaveLength(1);
});

test('the link process ends within two seconds when the gateway is killed', async () => {
  const root = join(import.meta.dirname, '../../..');
  const program = `
    import { openLink } from ${JSON.stringify(join(root, 'gateway/opcua/link.ts'))};
    import { systemClock } from ${JSON.stringify(join(root, 'gateway/clock.ts'))};
    const site = ${JSON.stringify(siteWith(48797, { tags: beatTag }))};
    const link = openLink({ site, clock: systemClock(), pkiFolder: ${JSON.stringify(newFolder())}, events: { readings() {}, server: () => console.log(link.pids[0]) } });
    await link.start();`;
  const gateway = spawn(process.execPath, ['--input-type=module-typescript', '-e', program], { stdio: ['ignore', 'pipe', 'inherit'] });
  undo.push(async () => gateway.kill('SIGKILL'));
  const [said] = (await once(gateway.stdout, 'data')) as [Buffer];
  const pid = Number(said.toString().split('\n')[0]);
  expect(isRunning(pid)).toBe(true);
  gateway.kill('SIGKILL');
  await expect.poll(() => isRunning(pid), { timeout: 2500 }).toBe(false);
});

function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
}

test('in plant time sixty times as fast every value arrives with its own plant time', async () => {
  const server = await startFixture({ tags: [BEAT] });
  undo.push(() => server.close());
  const heard = new Heard();
  const clock = acceleratedClock(Date.now(), 60);
  const link = openLink({ site: siteWith(server.port, { tags: beatTag }), clock, pkiFolder: newFolder(), events: heard.events });
  undo.push(() => link.stop());
  await link.start();
  await heard.until('first', () => heard.last('controller.heartbeat') !== undefined);
  let n = 0;
  const timer = setInterval(() => server.set('A1/Beat', ++n, new Date(clock.now())), 1000 / 60);
  undo.push(async () => clearInterval(timer));
  await heard.until('200 beats', () => Number(heard.last('controller.heartbeat')?.value) >= 200);
  const beats = heard.of('controller.heartbeat').filter(({ value }) => Number(value) > 0 && Number(value) <= 200);
  expect(new Set(beats.map(({ value }) => value)).size).toBe(200);
  expect(new Set(beats.map(({ timeOrigin }) => timeOrigin))).toEqual(new Set(['source']));
  const spanMs = (beats.at(-1)?.at ?? 0) - (beats[0]?.at ?? 0);
  expect(spanMs).toBeGreaterThan(150_000);
});

test('stopping closes in order within two seconds', async () => {
  const server = await startFixture({ tags: [BEAT] });
  undo.push(() => server.close());
  const heard = new Heard();
  const link = openLink({
    site: siteWith(server.port, { tags: beatTag }),
    clock: systemClock(),
    pkiFolder: newFolder(),
    events: heard.events,
  });
  await link.start();
  await heard.until('first', () => heard.last('controller.heartbeat') !== undefined);
  const from = performance.now();
  await link.stop();
  expect(performance.now() - from).toBeLessThan(2000);
  expect(server.requests.at(-1)).toBe('CloseSessionRequest');
});
