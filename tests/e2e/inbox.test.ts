/** The inbox in real Chromium against a double of the gateway: acts in two touches, two people at once, mutes, evidence, search, calls. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser, type BrowserContext, type Page } from 'playwright-core';
import { build } from 'vite';
import { afterAll, afterEach, beforeAll, beforeEach, expect, test } from 'vitest';
import { alertsOf } from './fixture-inbox.ts';
import { startMockGateway, type MockGateway } from './mock-gateway.ts';

const CHROMIUM = process.env['CHROMIUM'] ?? '/usr/bin/chromium';
const ROOT = join(import.meta.dirname, '../..');
const DESK = { width: 1920, height: 1080 };
const PHONE = { width: 390, height: 844 };
const BURST = 'burst/PC-07/2026-11-25T06:00:00.000Z';
const DOWN = 'down/PC-10/2026-11-25T05:00:00.000Z';

let browser: Browser;
let dist: string;
let mock: MockGateway;
const contexts: BrowserContext[] = [];
const complaints: string[] = [];

beforeAll(async () => {
  dist = mkdtempSync(join(tmpdir(), 'glowfleet-dist-'));
  await build({ configFile: join(ROOT, 'vite.config.ts'), logLevel: 'error', build: { outDir: dist, emptyOutDir: true } });
  browser = await chromium.launch({ executablePath: CHROMIUM, args: ['--no-sandbox'] });
});
beforeEach(async () => {
  mock = await startMockGateway({ chambers: 12, dist });
  complaints.length = 0;
});
afterEach(async () => {
  for (const context of contexts.splice(0)) await context.close();
  await mock.stop();
  // A refusal by the gateway is told in words on the page, and by the browser in its console.
  expect(complaints.filter((one) => !/status of 40[09]/.test(one))).toEqual([]);
});
afterAll(async () => {
  await browser?.close();
  rmSync(dist, { recursive: true, force: true });
});

/** A person's own browser, who may be known by name already. */
async function open(path: string, { size = DESK, name = '' }: { size?: typeof DESK; name?: string } = {}): Promise<Page> {
  const context = await browser.newContext({ viewport: size });
  contexts.push(context);
  if (name !== '') await context.addInitScript((known) => localStorage.setItem('glowfleet.name', known), name);
  const page = await context.newPage();
  page.setDefaultTimeout(10_000);
  page.on('pageerror', (error) => complaints.push(error.message));
  page.on('console', (message) => message.type() === 'error' && complaints.push(message.text()));
  await page.goto(mock.url + path);
  return page;
}

const button = (page: Page, name: string) => page.getByRole('button', { name, exact: true });
const group = (page: Page, name: string) => page.getByRole('region', { name, exact: true });
const openId = (id: string): string => `/alerts/${encodeURIComponent(id)}`;

test('on a phone an alert is acknowledged with a name; the next act takes two touches', async () => {
  const page = await open('/alerts', { size: PHONE });
  await group(page, 'Nobody has seen it yet').getByRole('link', { name: /PC-07/ }).click();
  await button(page, 'Acknowledge').click();
  await page.getByLabel('Your name').fill('Shift lead');
  await button(page, 'Acknowledge it as Shift lead').click();
  await page.getByText('Acknowledged by Shift lead').waitFor();
  await button(page, 'Take').click();
  await button(page, 'Take it as Shift lead').click();
  await page.getByText('Shift lead works on it').waitFor();
  expect(mock.inbox.done).toEqual([`${BURST} acknowledged by Shift lead`, `${BURST} taken by Shift lead`]);
  expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBe(0);
  await page.getByRole('link', { name: /all alerts/ }).click();
  await group(page, 'You work on it').getByRole('link', { name: /PC-07/ }).waitFor();
});

test('one acknowledges, and the other sees it at once: card, list and count', async () => {
  const [one, other, wall] = [await open('/alerts', { name: 'A. Brandt' }), await open('/alerts'), await open('/')];
  await other.getByText('1 needs you').waitFor();
  await wall.getByRole('link', { name: 'Alerts 1', exact: true }).waitFor();
  await button(one, 'Acknowledge').click();
  await button(one, 'Acknowledge it as A. Brandt').click();
  // The page asks every ten seconds anyway; what comes sooner was told.
  await other.getByText('Acknowledged by A. Brandt').waitFor({ timeout: 4_000 });
  await group(other, 'Seen, nobody works on it').getByRole('link', { name: /PC-07/ }).waitFor();
  await other.getByText('nothing needs you', { exact: true }).waitFor();
  await wall.getByRole('link', { name: 'Alerts 0', exact: true }).waitFor();
});

test('who takes what another took a moment ago is told so, and takes it over by name', async () => {
  const [one, other] = [await open(openId(BURST), { name: 'A. Brandt' }), await open(openId(BURST), { name: 'B. Cole' })];
  await button(other, 'Take').click();
  await button(one, 'Take').click();
  await button(one, 'Take it as A. Brandt').click();
  await one.getByText('A. Brandt works on it').waitFor();
  await button(other, 'Take it as B. Cole').click();
  await other.getByRole('alert').filter({ hasText: 'A. Brandt has taken this alert.' }).waitFor();
  await button(other, 'Take over').click();
  await button(other, 'Take it over as B. Cole').click();
  await other.getByText('B. Cole works on it').waitFor();
  await one.getByText('B. Cole works on it').waitFor({ timeout: 4_000 });
  await one.getByText('took it over from A. Brandt').waitFor();
});

test('a comment stays with the alert, in its lines, and cannot be markup', async () => {
  const page = await open(openId(BURST), { name: 'A. Brandt' });
  await button(page, 'Comment').click();
  await page.getByLabel('What you saw or did').fill('<b>hose</b> kinked\nbehind the door');
  await button(page, 'Say it as A. Brandt').click();
  await page.locator('.said', { hasText: '<b>hose</b> kinked' }).waitFor();
  expect(mock.inbox.done).toEqual([`${BURST} commented by A. Brandt: <b>hose</b> kinked\nbehind the door`]);
});

test('a mute has an end and a reason, is listed, marks the alert, and is ended by hand', async () => {
  const page = await open(openId(BURST), { name: 'C. Dahl' });
  await button(page, 'Mute').click();
  await page.getByLabel('every alert of PC-07').check();
  await page.getByLabel('to tomorrow').check();
  await page.getByLabel('because').fill('part is on order');
  await button(page, 'Mute it as C. Dahl').click();
  await page.getByText('Nobody is told until').filter({ hasText: 'C. Dahl muted every alert of PC-07, part is on order' }).waitFor();
  await group(page, 'Muted').getByRole('link', { name: /PC-07/ }).waitFor();
  await page.getByText('nothing needs you', { exact: true }).waitFor();
  await page.getByText('1 mute: of these nobody is told').waitFor();
  expect(mock.inbox.mutes()[0]).toMatchObject({ kind: null, chamber: 'PC-07', alert: BURST });
  await page.locator('details').getByRole('button', { name: 'Unmute' }).click();
  await button(page, 'End the mute').click();
  await group(page, 'Nobody has seen it yet').getByRole('link', { name: /PC-07/ }).waitFor();
  expect(mock.inbox.mutes()[0]).toMatchObject({ endedBy: 'C. Dahl' });
});

test('a mute with an own end in the past is refused in words', async () => {
  const page = await open(openId(BURST), { name: 'A. Brandt' });
  await button(page, 'Mute').click();
  await page.getByLabel('own end of the mute').fill('2020-01-01T06:00');
  await page.getByLabel('because').fill('x');
  await button(page, 'Mute it as A. Brandt').click();
  await page.getByRole('alert').filter({ hasText: 'ends in the past' }).waitFor();
  expect(mock.inbox.mutes()).toEqual([]);
});

test('the evidence shows the signals with the alarms marked, the first alarm, what was noted before and who was told', async () => {
  const page = await open(openId(BURST));
  await page.locator('article canvas').nth(1).waitFor();
  const red = (): Promise<number> =>
    page.evaluate(() => {
      const canvas = document.querySelector('article canvas') as HTMLCanvasElement;
      const { data } = canvas.getContext('2d')!.getImageData(0, 0, canvas.width, canvas.height);
      let n = 0;
      for (let i = 0; i < data.length; i += 4) if (data[i]! > 150 && data[i + 1]! < 40 && data[i + 2]! < 40 && data[i + 3]! > 200) n += 1;
      return n;
    });
  await expect.poll(red).toBeGreaterThan(100);
  expect(await page.locator('tr.first').textContent()).toContain('Cooling water flow low');
  const text = (await page.locator('article').textContent()) ?? '';
  for (const said of [
    'hose kinked behind the door',
    'same first alarm here',
    '1 run not completed',
    'CLN-OA-10, not run here',
    'connection refused',
  ])
    expect(text).toContain(said);
});

test('the list is narrowed by kind, chamber and to what is mine', async () => {
  const page = await open('/alerts', { name: 'A. Brandt' });
  const rows = () => page.locator('.list section a').allTextContents();
  await expect.poll(async () => (await rows()).length).toBe(3);
  await button(page, 'mine').click();
  expect((await rows()).join()).toContain('PC-10');
  expect(await rows()).toHaveLength(1);
  await button(page, 'show all').click();
  await page.getByLabel('kind').selectOption('alarm burst');
  expect(await rows()).toHaveLength(1);
  await page.getByLabel('chamber').selectOption('PC-10');
  await page.getByText('Nothing of what you chose.').waitFor();
});

test('past alerts are searched by words', async () => {
  const page = await open('/alerts');
  await button(page, 'all, search').click();
  await page.locator('.list a', { hasText: 'Loop South' }).waitFor();
  await page.getByLabel('words in alert or comment').fill('48 alarms');
  await expect.poll(() => page.locator('.list > a').count()).toBe(1);
  await page.locator('.list a', { hasText: 'Loop South' }).click();
  await page.locator('article h2', { hasText: 'Loop South' }).waitFor();
  await page.getByLabel('words in alert or comment').fill('no such thing');
  await page.getByText('No such alert so far.').waitFor();
});

test('a new high alert calls out loud only where somebody asked for it, and once', async () => {
  const context = await browser.newContext({ viewport: DESK, permissions: ['notifications'] });
  contexts.push(context);
  await context.addInitScript(() => {
    const heard = { tones: 0, notices: [] as string[] };
    Object.assign(globalThis, { heard });
    const Loud = class extends AudioContext {
      override createOscillator() {
        heard.tones += 1;
        return super.createOscillator();
      }
    };
    Object.assign(globalThis, { AudioContext: Loud });
    const Shown = class {
      static permission = 'granted';
      static requestPermission = () => Promise.resolve('granted');
      onclick = null;
      close = () => {};
      constructor(title: string) {
        heard.notices.push(title);
      }
    };
    Object.assign(globalThis, { Notification: Shown });
  });
  const page = await context.newPage();
  await page.goto(`${mock.url}/alerts`);
  const heard = () => page.evaluate(() => (globalThis as unknown as { heard: { tones: number; notices: string[] } }).heard);
  const [, , down] = alertsOf(Date.now());
  const fresh = { ...down, takenAt: null, takenBy: null, acknowledgedAt: null, acknowledgedBy: null };
  mock.call({ ...fresh, id: 'down/a', headline: 'before anybody asked' });
  await page.getByText('2 need you').waitFor();
  expect(await heard()).toEqual({ tones: 0, notices: [] });
  await button(page, 'sound off').click();
  await button(page, 'notices off').click();
  const asked = (await heard()).tones;
  expect(asked).toBeGreaterThan(0);
  mock.call({ ...fresh, id: 'down/b', headline: 'PC-10: down again' });
  await expect.poll(async () => (await heard()).notices).toEqual(['PC-10: down again']);
  expect((await heard()).tones).toBe(2 * asked);
  mock.call({ ...fresh, id: 'down/c', severity: 'medium', headline: 'not high' });
  mock.call({ ...fresh, id: 'down/b', headline: 'PC-10: down again', updatedAt: Date.now() });
  await page.getByText('4 need you').waitFor();
  expect(await heard()).toEqual({ tones: 2 * asked, notices: ['PC-10: down again'] });
});

test('while the gateway is silent no act is offered, and an alert opened stays where it is when others come', async () => {
  const page = await open('/alerts');
  await page.locator('article h2', { hasText: 'PC-07' }).waitFor();
  const [, , down] = alertsOf(Date.now());
  mock.call({ ...down, id: 'down/new', takenAt: null, takenBy: null, acknowledgedAt: null, acknowledgedBy: null, chamber: 'PC-02' });
  await group(page, 'Nobody has seen it yet').getByRole('link', { name: /PC-02/ }).waitFor();
  expect(await page.locator('article h2').textContent()).toContain('PC-07');
  await mock.stop();
  await page.getByRole('alert').filter({ hasText: 'No word from the gateway' }).waitFor({ timeout: 8_000 });
  expect(await button(page, 'Take').isDisabled()).toBe(true);
  complaints.length = 0;
  mock = await startMockGateway({ chambers: 12, dist });
});

test.each([
  ['desk', DESK],
  ['4K', { width: 3840, height: 2160 }],
  ['phone', PHONE],
])('with long texts nothing leaves its place on a %s', async (_, size) => {
  const [burst] = alertsOf(Date.now());
  const long = 'Kettenfördererüberwachungseinrichtung '.repeat(6);
  mock.call({
    ...burst,
    id: 'burst/long',
    severity: 'high',
    headline: long,
    cure: long,
    facts: [{ label: 'Überwachung', value: long.replaceAll(' ', '_') }],
  });
  const page = await open(openId('burst/long'), {
    size,
    name: 'A person with a rather long name of eighty letters, at the very most of them all',
  });
  await page.locator('article canvas').first().waitFor();
  await button(page, 'Mute').click();
  const outside = await page.evaluate(() => {
    const article = document.querySelector('article')!;
    const { left, right } = article.getBoundingClientRect();
    const texts = document.createTreeWalker(article, NodeFilter.SHOW_TEXT);
    const found: string[] = [];
    while (texts.nextNode()) {
      const range = document.createRange();
      range.selectNodeContents(texts.currentNode);
      const isHidden = texts.currentNode.parentElement!.closest('.unseen, button') !== null;
      if (!isHidden && [...range.getClientRects()].some((line) => line.left < left - 1 || line.right > right + 1))
        found.push(range.toString());
    }
    return found;
  });
  expect(outside).toEqual([]);
  expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBe(0);
});

test('with nothing to do the page says so, and when it last heard', async () => {
  mock.inbox.clear();
  const page = await open('/alerts', { size: PHONE });
  await page.getByText('Nothing needs you.').waitFor();
  expect(await page.locator('.none').textContent()).toMatch(
    /No alert is open.*Last word from the gateway \d\d:\d\d:\d\d; 11 of 12 chambers are heard/s,
  );
  expect(await page.title()).toBe('Alerts');
});

test('when the gateway fails to answer, the page says so, asks again on a touch and shows what it gets', async () => {
  const context = await browser.newContext({ viewport: DESK });
  contexts.push(context);
  const page = await context.newPage();
  let isBroken = true;
  await page.route('**/api/alerts?*', (route) =>
    isBroken
      ? route.fulfill({ status: 503, json: { code: 'unavailable', message: 'The store cannot answer now. Try again in a moment.' } })
      : route.fallback(),
  );
  await page.goto(`${mock.url}/alerts`);
  await page.getByRole('alert').filter({ hasText: 'The store cannot answer now.' }).waitFor();
  isBroken = false;
  await button(page, 'Ask again').click();
  await page.locator('article h2', { hasText: 'PC-07' }).waitFor();
  expect(await page.getByRole('alert').count()).toBe(0);
});

test('an alert that somebody has is given back by anybody', async () => {
  const page = await open(openId(DOWN), { name: 'C. Dahl' });
  await button(page, 'Give back').click();
  await button(page, 'Give it back as C. Dahl').click();
  await page.getByText('gave it back').waitFor();
  expect(mock.inbox.done).toEqual([`${DOWN} given back by C. Dahl`]);
});
