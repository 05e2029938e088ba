/** One edit of the site file while people look: the wall and the page of links follow without being loaded anew, and a slip of the pen harms nothing. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Fleet } from '../../src/contract.ts';
import { NAMESPACE, startFixture, type Fixture } from '../gateway/opcua/fixture-server.ts';
import { openBrowser } from './browser.ts';
import { soon } from './plant-day.ts';
import { startProgram, type Program } from './program.ts';

const CHAMBERS = ['PC-01', 'PC-02', 'PC-03'];
const site = (port: number, chambers: readonly string[], hall = 'Hall 3'): string => `
site: { name: Quellmoor Works, hall: ${hall}, zone: Europe/Berlin }
servers:
  - { name: amber, endpoint: 'opc.tcp://127.0.0.1:${port}', security: none }
templates:
  small:
    rfMaxW: 1000
    basePressurePa: 5
    gases: {}
    tags:
      chamber.pressure: { node: 'nsu=${NAMESPACE};s={path}/Pressure', unit: Pa }
      chamber.doorClosed: { node: 'nsu=${NAMESPACE};s={path}/Door' }
chambers:
${chambers.map((id, i) => `  - { id: ${id}, bay: Amber, floor: { column: ${i + 1}, row: 1 }, server: amber, template: small, path: ${id} }`).join('\n')}
`;

let folder: string;
let file: string;
let plant: Fixture;
let program: Program;
let browser: Browser;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'glowfleet edit '));
  file = join(folder, 'site.yaml');
  const tags = CHAMBERS.flatMap((id) => [
    { path: `${id}/Pressure`, type: 'Double', value: 101_325 } as const,
    { path: `${id}/Door`, type: 'Boolean', value: true } as const,
  ]);
  [plant, browser] = await Promise.all([startFixture({ tags }), openBrowser()]);
  writeFileSync(file, site(plant.port, ['PC-01', 'PC-02']));
  program = await startProgram({ args: ['run', '--site', file], data: join(folder, 'data') });
}, 60_000);

afterAll(async () => {
  await browser?.close();
  await program?.stop();
  await plant?.close();
  rmSync(folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
});

const fleet = async () => (await (await fetch(`${program.url}/api/fleet`)).json()) as Fleet;

test(
  'an edit of the site file reaches the open wall and the page of links within seconds, without a reload',
  { timeout: 90_000 },
  async () => {
    await soon('both heard', 30_000, async () =>
      (await fleet()).chambers.filter(({ link }) => link === 'live').length === 2 ? true : null,
    );
    const wall = await browser.newPage({ viewport: { width: 1920, height: 1080 } });
    await wall.goto(program.url);
    const links = await browser.newPage({ viewport: { width: 1920, height: 1080 } });
    await links.goto(`${program.url}/health`);
    for (const page of [wall, links]) await page.evaluate(() => Object.assign(window, { sameLife: true }));
    await wall.getByText('PC-02').first().waitFor();
    expect(await wall.getByText('PC-03').count()).toBe(0);

    writeFileSync(file, site(plant.port, ['PC-01', 'PC-03']));
    await wall.getByText('PC-03').first().waitFor({ timeout: 20_000 });
    expect(await wall.getByText('PC-02').count()).toBe(0);
    await links.getByText(/2 changes/).waitFor({ timeout: 20_000 });
    await links.getByText(/2 changes/).click();
    await links.getByText('Chamber PC-02 was taken out.').waitFor();
    await links.getByRole('link', { name: 'PC-02' }).waitFor();

    writeFileSync(file, site(plant.port, ['PC-01', 'PC-03']).replace('rfMaxW: 1000', 'rfMaxW: -1'));
    await links.getByText(`${file}:7 templates.small.rfMaxW: saw -1; it must be more than 0`).first().waitFor({ timeout: 20_000 });
    expect((await fleet()).chambers.map(({ chamber }) => chamber)).toEqual(['PC-01', 'PC-03']);

    writeFileSync(file, site(plant.port, ['PC-01', 'PC-03'], 'Hall 7'));
    await wall
      .getByText(/Hall 7/)
      .first()
      .waitFor({ timeout: 20_000 });
    await expect.poll(() => links.getByText(/rfMaxW: saw/).count(), { timeout: 20_000 }).toBe(0);
    for (const page of [wall, links]) expect(await page.evaluate(() => (window as { sameLife?: boolean }).sameLife)).toBe(true);
    expect((await fleet()).chambers.map(({ chamber, link }) => [chamber, link])).toEqual([
      ['PC-01', 'live'],
      ['PC-03', 'live'],
    ]);
    const shots = process.env['SHOTS'];
    if (shots !== undefined) await links.screenshot({ path: join(shots, 'links.png'), fullPage: true });
  },
);
