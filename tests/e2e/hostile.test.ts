/**
 * A server that means ill: its recipe and load are markup, formulas and characters that turn text around, and the site file's alarm text too.
 * Everything from a plant is text for people and must stay text on every page and in every file.
 */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { AlarmRow, Fleet, RunRow } from '../../src/contract.ts';
import { NAMESPACE, startFixture, type Fixture } from '../gateway/opcua/fixture-server.ts';
import { openBrowser } from './browser.ts';
import { soon } from './plant-day.ts';
import { startProgram, type Program } from './program.ts';

const RECIPE = '=HYPERLINK("http://evil.test")<img src=x onerror=alert(1)>';
const LOAD = '+LOT\u202E<b>7</b>';
const ALARM = '@SUM(A1) <script>alert(1)</script>';
const TURNS = /[\u202A-\u202E\u2066-\u2069]/;

const TAGS = [
  { path: 'Pressure', type: 'Double', value: 101_325 },
  { path: 'Door', type: 'Boolean', value: true },
  { path: 'Phase', type: 'Int32', value: 0 },
  { path: 'Recipe', type: 'String', value: RECIPE },
  { path: 'Load', type: 'String', value: LOAD },
  { path: 'Alarm', type: 'Boolean', value: false },
] as const;

const site = (port: number): string => `
site: { name: Quellmoor Works, hall: Hall 3, zone: Europe/Berlin }
servers:
  - { name: amber, endpoint: 'opc.tcp://127.0.0.1:${port}', security: none }
templates:
  small:
    rfMaxW: 1000
    basePressurePa: 5
    gases: {}
    phases: { '0': idle, '10': pump-down, '30': plasma, '60': vent, '70': wait-unload }
    tags:
      chamber.pressure: { node: 'nsu=${NAMESPACE};s=Pressure', unit: Pa }
      chamber.doorClosed: { node: 'nsu=${NAMESPACE};s=Door' }
      sequence.phaseCode: { node: 'nsu=${NAMESPACE};s=Phase' }
      recipe.name: { node: 'nsu=${NAMESPACE};s=Recipe' }
      load.id: { node: 'nsu=${NAMESPACE};s=Load' }
    alarms:
      RF_FAULT: { text: '${ALARM}', priority: high, from: { node: 'nsu=${NAMESPACE};s=Alarm' } }
chambers:
  - { id: PC-01, bay: Amber, floor: { column: 1, row: 1 }, server: amber, template: small, path: PC-01 }
`;

let folder: string;
let plant: Fixture;
let program: Program;
let browser: Browser;
const complaints: string[] = [];

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'glowfleet ill '));
  [plant, browser] = await Promise.all([startFixture({ tags: TAGS }), openBrowser()]);
  writeFileSync(join(folder, 'site.yaml'), site(plant.port));
  program = await startProgram({ args: ['run', '--site', join(folder, 'site.yaml')], data: join(folder, 'data') });
}, 60_000);

afterAll(async () => {
  await browser?.close();
  await program?.stop();
  await plant?.close();
  rmSync(folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
});

const ask = async <T>(path: string): Promise<T> => (await (await fetch(program.url + path)).json()) as T;
const tile = async () => (await ask<Fleet>('/api/fleet')).chambers[0]!;

async function open(path: string): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1920, height: 1080 } });
  page.on('dialog', (dialog) => {
    complaints.push(`dialog: ${dialog.message()}`);
    void dialog.dismiss();
  });
  page.on('pageerror', (error) => complaints.push(error.message));
  await page.goto(program.url + path);
  return page;
}

/** Whether the page holds an element that only the server's text could have made. */
const injected = (page: Page): Promise<number> =>
  page.evaluate(() => document.querySelectorAll('main img, main script, main b > b, [onerror]').length);

async function phase(code: number, pressurePa: number): Promise<void> {
  plant.set('Pressure', pressurePa);
  plant.set('Phase', code);
  const word = { 10: 'pump-down', 30: 'plasma', 60: 'vent', 70: 'wait-unload' }[code];
  await soon(`phase ${word}`, 10_000, async () => ((await tile()).phase === word ? true : null));
}

test('a run and an alarm of a hostile server are shown as text on the wall and the chamber page', { timeout: 60_000 }, async () => {
  await soon('heard', 20_000, async () => ((await tile()).link === 'live' ? true : null));
  await phase(10, 1_000);
  await phase(30, 50);
  plant.set('Alarm', true);
  const told = await soon('the alarm', 10_000, async () => ((await tile()).alarms.standing > 0 ? await tile() : null));
  expect(told.run?.recipe).toContain('<img src=x onerror=alert(1)>');
  for (const path of ['/', '/chamber/PC-01']) {
    const page = await open(path);
    await page.getByText('onerror=alert(1)', { exact: false }).first().waitFor();
    await page.getByText('<script>alert(1)</script>', { exact: false }).first().waitFor();
    expect(await injected(page), path).toBe(0);
    await page.close();
  }
  await phase(60, 50_000);
  await phase(70, 101_325);
});

test('they stay text in the list of runs, the inbox and every CSV file', { timeout: 60_000 }, async () => {
  const window = `from=${Date.now() - 3_600_000}&to=${Date.now() + 3_600_000}`;
  const [run] = await soon('the run', 20_000, async () => {
    const runs = await ask<RunRow[]>(`/api/runs?${window}`);
    return runs.length > 0 ? runs : null;
  });
  expect(run).toMatchObject({ recipe: expect.stringContaining('HYPERLINK'), load: expect.stringContaining('LOT') });
  const [alarm] = await ask<AlarmRow[]>(`/api/alarms?${window}`);
  expect(alarm?.text).toBe(ALARM);
  for (const path of ['/runs', '/alerts', '/week']) {
    const page = await open(path);
    await page.locator('main').waitFor();
    if (path === '/runs') await page.getByText('onerror=alert(1)', { exact: false }).first().waitFor();
    expect(await injected(page), path).toBe(0);
    expect(TURNS.test((await page.locator('main').textContent()) ?? ''), path).toBe(false);
    await page.close();
  }
  for (const table of ['runs', 'alarms', 'equipment-time', 'numbers']) {
    const text = await (await fetch(`${program.url}/api/${table}.csv?${window}`)).text();
    // A cell that begins with one of these is a formula to a spreadsheet (OWASP, CSV injection).
    for (const cell of cellsOf(text)) expect(cell, table).not.toMatch(/^[=+@\t\r]|^-(?![\d.])/);
    if (table === 'runs') expect(text).toContain('onerror=alert(1)');
    if (table === 'alarms') expect(text).toContain('SUM(A1)');
  }
  expect(complaints).toEqual([]);
});

/** Cells of RFC 4180 text. */
function cellsOf(text: string): string[] {
  return [...text.matchAll(/(?:^|,|\r?\n)(?:"((?:[^"]|"")*)"|([^",\r\n]*))/g)].map((match) =>
    (match[1] ?? match[2] ?? '').replaceAll('""', '"'),
  );
}
