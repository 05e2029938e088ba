/** A week, and a day of a chamber, that nobody observed, in real Chromium: what was not counted is a dash, never a nought. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser, type Page } from 'playwright-core';
import { build } from 'vite';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { fleetFacts } from '../../src/facts.ts';
import { weekPage } from '../../src/week.ts';
import { startMockGateway, type MockGateway } from './mock-gateway.ts';

const ROOT = join(import.meta.dirname, '../..');
const CHAMBERS = ['PC-01', 'PC-02', 'PC-03', 'PC-04'];
const UNSEEN = weekPage({
  week: '2026-W47',
  facts: fleetFacts({ chambers: CHAMBERS, events: [], heardUntil: {} }),
  calendar: { zone: 'Europe/Berlin', holidays: [], shifts: [{ name: 'Early', days: ['mon', 'tue'], from: '06:00', to: '14:00' }] },
  now: Date.UTC(2026, 10, 25, 9),
});

let browser: Browser;
let dist: string;
let mock: MockGateway;

beforeAll(async () => {
  dist = mkdtempSync(join(tmpdir(), 'glowfleet-dist-'));
  await build({ configFile: join(ROOT, 'vite.config.ts'), logLevel: 'error', build: { outDir: dist, emptyOutDir: true } });
  browser = await chromium.launch({ executablePath: process.env['CHROMIUM'] ?? '/usr/bin/chromium', args: ['--no-sandbox'] });
  mock = await startMockGateway({ chambers: CHAMBERS.length, dist });
});

afterAll(async () => {
  await browser?.close();
  await mock?.stop();
  rmSync(dist, { recursive: true, force: true });
});

async function open(path: string): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1920, height: 1080 } });
  await page.route('**/api/weeks/2026-W47', (route) => route.fulfill({ json: UNSEEN }));
  await page.route('**/api/numbers?*', (route) => route.fulfill({ json: [UNSEEN?.chambers[0]] }));
  await page.goto(`${mock.url}${path}`);
  return page;
}

const noughts = (texts: readonly string[]): string[] =>
  texts.map((text) => text.trim()).filter((text) => /^0([.,]0+)?(\s?(h|loads?|stops?|failures?|alarms?))?$/.test(text));

// Soft cells hold what is published, such as a target of 0 chattering alarms.
test('the week page of a week that nobody observed shows no nought for what was not counted', async () => {
  const page = await open('/week/2026-W47');
  await page.getByText('Nothing was observed in this week.').waitFor();
  const shown = await page.locator('main b, main td, .more td:not(.soft)').allTextContents();
  expect(shown.length).toBeGreaterThan(60);
  expect(noughts(shown)).toEqual([]);
  const words = await page.locator('body').innerText();
  expect(words).toMatch(/–\s+load/);
  expect(words).not.toMatch(/no alarm counted|every stop has a reason|no standby|No whole cycle|no run with a recipe/);
  await page.close();
});

test('the day of a chamber that nobody observed shows none either', async () => {
  const page = await open('/chamber/PC-01');
  const today = page.locator('.today ul').first();
  await today.getByText('down unplanned').waitFor();
  expect(noughts(await today.locator('b').allTextContents())).toEqual([]);
  expect(await today.innerText()).toMatch(/–\s+loads/);
  await page.close();
});
