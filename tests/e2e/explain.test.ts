/**
 * Every number on every page of the real program opens: no cell that holds one is bare, and each kind is answered by the gateway with what it was
 * made of. Numbers that are read and not computed (a signal, a time of day, a published target) are not among them.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Explanation } from '../../src/explanation.ts';
import { openBrowser } from './browser.ts';
import { bareNumbers } from './page-measure.ts';
import { startProgram, type Program } from './program.ts';

const data = mkdtempSync(join(tmpdir(), 'glowfleet explain '));
let program: Program;
let browser: Browser;
let page: Page;
let run: string;

beforeAll(async () => {
  program = await startProgram({ data, weeks: 1, speed: 1 });
  browser = await openBrowser();
  page = await browser.newPage({ viewport: { width: 1920, height: 1080 } });
  const runs = (await (await fetch(`${program.url}/api/runs?window=week&limit=500`)).json()) as { run: string; outcome: string }[];
  run = runs.find(({ outcome }) => outcome === 'completed')?.run ?? '';
}, 240_000);

afterAll(async () => {
  await browser?.close();
  await program?.stop();
  rmSync(data, { recursive: true, force: true });
});

/** What is asked for alike: 'alarm-target/time in flood', 'stretch mean', 'cycle-time'. */
const kindOf = (figure: string): string => {
  const parts = figure.split('/');
  if (parts[0] === 'stretch') return `stretch ${parts.at(-1)}`;
  return ['figure', 'alarm-target', 'iso22400', 'time', 'count', 'usual-shift'].includes(parts[0] as string)
    ? parts.slice(0, 2).join('/')
    : (parts[0] as string);
};

/** Opens the first figure of each kind; what the gateway said of it, by its name. */
async function opened(): Promise<Map<string, Explanation | string>> {
  const figures = await page.evaluate(() =>
    [...document.querySelectorAll<HTMLElement>('[data-figure]')].map((e) => e.dataset['figure'] ?? ''),
  );
  const firsts = [...new Map(figures.map((figure, i) => [kindOf(figure), i] as const).toReversed()).values()];
  const out = new Map<string, Explanation | string>();
  for (const i of firsts) {
    const answered = page.waitForResponse((response) => response.url().includes('/api/explain?'));
    await page.evaluate((at) => document.querySelectorAll<HTMLElement>('[data-figure]')[at]!.click(), i);
    const response = await answered;
    out.set(figures[i] as string, response.ok() ? ((await response.json()) as Explanation) : await response.text());
    await page.keyboard.press('Escape');
  }
  return out;
}

const PAGES = [
  ['the wall', () => '/', 'header.strip .shift .usual', 5],
  ['the week', () => '/week/current', '.effect td.n', 50],
  ['a run', () => `/run/${encodeURIComponent(run)}`, '.figures tbody tr', 30],
  ['the runs', () => '/runs?period=week', 'tbody tr', 2],
  ['the drift', () => '/drift', 'canvas', 4],
  ['a chamber', () => '/chamber/PC-05', '.today li', 9],
  ['the stops', () => '/stops', '.stop', 3],
] as const;

describe.each(PAGES)('%s', (_, path, ready, fewest) => {
  test('shows no number that does not open, and each kind opens into what it was made of', { timeout: 180_000 }, async () => {
    await page.goto(program.url + path());
    await page.locator(ready).first().waitFor();
    await page.waitForTimeout(500);
    expect(await page.evaluate(bareNumbers)).toEqual([]);
    const told = await opened();
    expect(told.size).toBeGreaterThanOrEqual(fewest);
    for (const [figure, answer] of told) {
      if (typeof answer === 'string') throw new Error(`${figure}: ${answer}`);
      expect([figure, answer.number, answer.formula !== '', answer.source !== '']).toEqual([figure, figure, true, true]);
    }
  });
});
