/** A person says why in a real browser, at the real program: numbers follow at once, the wall says so, and taking back brings every number back. */
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Fleet, ReasonRow, StateInterval, StopsPage } from '../../src/contract.ts';
import type { WindowNumbers } from '../../src/numbers.ts';
import { openBrowser } from './browser.ts';
import { startProgram, type Program } from './program.ts';

const MINUTE_MS = 60_000;
const DAY_MS = 1_440 * MINUTE_MS;
/** What opened the panel is no choice. */
const SETTLED_MS = 450;

let program: Program;
let browser: Browser;

beforeAll(async () => {
  [program, browser] = await Promise.all([startProgram({ weeks: 1, speed: 1 }), openBrowser()]);
}, 240_000);
afterAll(async () => {
  await browser?.close();
  await program?.stop();
});

const get = async <T>(path: string): Promise<T> => (await (await fetch(`${program.url}${path}`)).json()) as T;

async function openAs(name: string, path: string): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1920, height: 1080 } });
  await page.goto(`${program.url}${path}`);
  await page.evaluate((who) => localStorage.setItem('glowfleet.name', who), name);
  await page.reload();
  return page;
}

describe('a stop without a reason', () => {
  test('is told in two clicks, counts at once in every number, and is as before when taken back', { timeout: 120_000 }, async () => {
    const { now } = await get<Fleet>('/api/fleet');
    // The last minute may still be on its way, and a stop that goes on grows.
    const past = `from=${now - 7 * DAY_MS}&to=${now - MINUTE_MS}`;
    const listed = async (): Promise<StopsPage> => {
      const page = await get<StopsPage>(`/api/stops?${past}`);
      return { ...page, stops: page.stops.filter(({ isOn }) => !isOn) };
    };
    const todo = await listed();
    const { chamber, from, to, downMs } = todo.stops.find((stop) => stop.to < now - MINUTE_MS) as StopsPage['stops'][number];
    const scope = `${past}&chamber=${chamber}`;
    const told = async () => {
      const [numbers] = await get<WindowNumbers[]>(`/api/numbers?${scope}`);
      return { numbers, losses: await get(`/api/losses?${scope}`), spans: await get<StateInterval[]>(`/api/equipment-time?${scope}`) };
    };
    const before = await told();

    const page = await openAs('M. Arden', '/stops');
    await page
      .getByRole('group', { name: 'Chamber' })
      .getByRole('button', { name: new RegExp(`^${chamber} `) })
      .click();
    const row = page
      .locator('.list li')
      .filter({ hasNot: page.getByText('until now') })
      .first();
    await row.locator('.stop').click();
    await page.waitForTimeout(SETTLED_MS);
    await row.getByRole('button', { name: 'preventive maintenance' }).click();
    await page.locator('.done').getByText('preventive maintenance').waitFor();

    const after = await told();
    const time = { ...before.numbers!.time };
    time['unscheduled-downtime'] -= downMs;
    time['scheduled-downtime'] += downMs;
    expect(after.numbers!.time).toEqual(time);
    const [entry] = await get<ReasonRow[]>(`/api/reasons?${scope}`);
    expect(entry).toMatchObject({ from, to, by: 'M. Arden', withdrawnAt: null });
    const spans = after.spans.filter((span) => span.entry === entry!.entry);
    expect(spans.reduce((sum, span) => sum + span.to - span.from, 0)).toBe(downMs);
    for (const span of spans) expect(span).toMatchObject({ source: 'person', observed: { state: 'unscheduled-downtime' } });
    const left = await listed();
    expect(left.stops).toHaveLength(todo.stops.length - 1);
    expect(left.unscheduledMs).toBe(todo.unscheduledMs - downMs);

    await page.locator('.done').getByRole('button', { name: 'Take back' }).click();
    await expect.poll(listed, { timeout: 5_000 }).toEqual(todo);
    expect(await told()).toEqual(before);
    expect((await get<ReasonRow[]>(`/api/reasons?${scope}`))[0]).toMatchObject({ entry: entry!.entry, withdrawnBy: 'M. Arden' });
    await page.close();
  });

  test('what goes on now is told without an end and shows on the wall with its mark, to every screen', { timeout: 120_000 }, async () => {
    const fleet = await get<Fleet>('/api/fleet');
    const { chamber, state } = fleet.chambers.find((tile) => tile.link === 'live' && tile.state !== 'nonscheduled' && tile.run === null)!;
    const wall = await openAs('Wall', '/');
    const tile = wall.locator(`[data-chamber="${chamber}"]`);
    await tile.waitFor();
    const page = await openAs('M. Arden', `/chamber/${chamber}`);
    const strip = page.getByRole('slider', { name: /Equipment states/ });
    await strip.waitFor();
    await strip.press('End');
    await strip.press('Enter');
    const panel = page.getByRole('region', { name: new RegExp(`^Why ${chamber}`) });
    await panel.getByText('and going on').waitFor();
    await page.waitForTimeout(SETTLED_MS);
    await panel.getByRole('button', { name: 'qualification' }).click();
    await tile.getByText('qualification').waitFor({ timeout: 5_000 });
    expect(await tile.getByRole('img', { name: 'told by a person' }).count()).toBe(1);
    expect(await tile.locator('.word').textContent()).toBe('ENGINEERING');
    await page.getByText(/told by M. Arden; observed/).waitFor();
    await page.waitForTimeout(SETTLED_MS);
    await panel.getByRole('button', { name: 'Take back' }).click();
    await tile.getByText('qualification').waitFor({ state: 'detached', timeout: 5_000 });
    const { tile: back } = await get<{ tile: Fleet['chambers'][number] }>(`/api/chambers/${chamber}`);
    expect([back.told, back.state]).toEqual([null, state]);
    await Promise.all([page.close(), wall.close()]);
  });
});
