/**
 * A day with the program, link by link in the order in which people meet it: simulated plant, OPC UA, gateway, SQLite, pages in Chromium,
 * webhook and mail. One program at 60 times the pace of life; deadlines for people are real time, and said to be.
 */
import { spawnSync } from 'node:child_process';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { AlarmRow, Alert, Delivery, RunRow, ServerLine, StateInterval } from '../../src/contract.ts';
import { EQUIPMENT_STATES } from '../../src/equipment.ts';
import type { WeekPage, SeenNumbers } from '../../src/numbers.ts';
import { openBrowser } from './browser.ts';
import { partitionFaults, soon, SPEED, startPlantDay, type PlantDay } from './plant-day.ts';
import { mailHeader, mailText } from './receivers.ts';
import { againstGateway, againstTruth, watchWall } from './wall-watch.ts';

const HD = { width: 1920, height: 1080 };
const HOUR_MS = 3_600_000;
const CHAMBERS = Array.from({ length: 12 }, (_, i) => `PC-${String(i + 1).padStart(2, '0')}`);
const OPENED = { state: 'delivered', stage: 'opened' };

let day: PlantDay;
let browser: Browser;
let wall: Page;
let watch: ReturnType<typeof watchWall>;

beforeAll(async () => {
  [day, browser] = await Promise.all([startPlantDay(), openBrowser()]);
  wall = await open('/');
  await wall.locator('.tile').nth(11).waitFor();
  await soon('every chamber is heard', 60_000, async () => (await day.fleet()).chambers.every((tile) => tile.link === 'live') || null);
  watch = watchWall(wall, day.fleet, { everyMs: 400, longestGlanceMs: 2_000 * SPEED });
}, 180_000);

afterAll(async () => {
  await browser?.close();
  await day?.end();
});

async function open(path: string): Promise<Page> {
  const page = await browser.newPage({ viewport: HD });
  await page.goto(`${day.program.url}${path}`);
  await page.evaluate(() => ((globalThis as { sameLife?: boolean }).sameLife = true));
  return page;
}

const sameLife = (page: Page): Promise<boolean> => page.evaluate(() => (globalThis as { sameLife?: boolean }).sameLife === true);
const word = (page: Page, chamber: string): Promise<string> =>
  page
    .locator(`[data-chamber="${chamber}"] .word`)
    .textContent()
    .then((text) => text?.trim() ?? '');

type AlertAnswer = Alert & { deliveries: Delivery[] };

describe('an alarm flood', () => {
  let from: number;
  let alert: AlertAnswer;
  let inbox: Page;

  test('reaches the journal and becomes one alert that names what came first, what most, and who', { timeout: 40_000 }, async () => {
    inbox = await open('/alerts');
    from = (await day.fleet()).now;
    await Promise.all([day.order('alarm-burst', 'PC-05', { size: 15 }), day.order('alarm-burst', 'PC-06', { size: 15 })]);
    alert = await soon('an alert', 20_000, async () => {
      const all = await day.get<AlertAnswer[]>('/api/alerts?limit=20');
      return all.find((one) => one.kind === 'flood' && one.startedAt > from) ?? null;
    });
    expect(alert).toMatchObject({ kind: 'flood', position: 'Drill desk', state: 'open', acknowledgedAt: null });
    expect(alert.together).toEqual(expect.arrayContaining(['PC-05', 'PC-06']));
    expect(alert.alarms?.count).toBeGreaterThan(10);
    expect(alert.alarms?.top.length).toBeGreaterThan(2);
    const journal = await alarmsSince(from - 600_000);
    expect(journal.filter(({ chamber }) => chamber === 'PC-05').length).toBeGreaterThan(2);
    expect(journal.map(({ chamber, code, at }) => ({ chamber, code, at }))).toContainEqual({
      chamber: alert.alarms?.firstOut?.chamber,
      code: alert.alarms?.firstOut?.code,
      at: alert.alarms?.firstOut?.at,
    });
  });

  test('is in the inbox without a reload, and taken on by name there and in every other open page', { timeout: 30_000 }, async () => {
    const other = await open('/alerts');
    const cardOn = (page: Page) =>
      page.locator('article', { hasText: 'Drill desk' }).filter({ hasText: alert.alarms?.firstOut?.text ?? '' });
    for (const page of [inbox, other]) {
      // The newest of that desk: at this pace an episode may be over before it is taken on.
      await page.locator(`.list a[href="/alerts/${encodeURIComponent(alert.id)}"]`).click({ timeout: 12_000 });
      await cardOn(page).waitFor({ timeout: 12_000 });
    }
    const card = cardOn(inbox);
    const text = (await card.textContent()) ?? '';
    expect(text).toContain(alert.alarms?.firstOut?.text);
    expect(text).toContain('alarm flood');
    for (const chamber of ['PC-05', 'PC-06']) expect(text).toContain(chamber);
    await card.getByRole('button', { name: 'Acknowledge', exact: true }).click();
    await card.getByLabel('Your name').fill('Ada of the early shift');
    await card.getByRole('button', { name: 'Acknowledge it as Ada of the early shift' }).click();
    await card.getByText('Acknowledged by Ada of the early shift').waitFor();
    const told = await day.get<AlertAnswer>(`/api/alerts/${encodeURIComponent(alert.id)}`);
    expect(told).toMatchObject({ acknowledgedBy: 'Ada of the early shift', acknowledgedAt: expect.any(Number) });
    await cardOn(other).getByText('Acknowledged by Ada of the early shift').waitFor({ timeout: 12_000 });
    expect([await sameLife(inbox), await sameLife(other)]).toEqual([true, true]);
    await other.close();
    await inbox.close();
  });

  test(
    'is sent once as a webhook with an idempotency key and once as a mail, when it begins and when it is over',
    { timeout: 60_000 },
    async () => {
      const over = await soon('the flood is over and told', 45_000, async () => {
        const now = await day.get<AlertAnswer>(`/api/alerts/${encodeURIComponent(alert.id)}`);
        return now.state === 'closed' && now.deliveries.length === 4 && now.deliveries.every(({ state }) => state === 'delivered')
          ? now
          : null;
      });
      expect(over.deliveries).toEqual(expect.arrayContaining([expect.objectContaining(OPENED)]));
      const alerts = (await day.get<AlertAnswer[]>('/api/alerts?limit=20')).filter((one) => one.startedAt > from);
      const ours = alerts.filter((one) => one.kind === 'flood' && one.position === 'Drill desk');
      expect(ours.map(({ id }) => id)).toEqual([alert.id]);
      const posts = day.webhook.posts.filter(({ body }) => body.alert?.id === alert.id);
      expect(posts.map(({ method, body }) => `${method} ${body.stage}`).sort()).toEqual(['POST closed', 'POST opened']);
      const keys = posts.map(({ headers }) => headers['idempotency-key']);
      const webhooks = over.deliveries.filter(({ route }) => route === 'engineer on duty');
      expect(keys.map((key) => decodeURIComponent(String(key))).sort()).toEqual(webhooks.map(({ id }) => id).sort());
      const mails = day.mail.mails.filter((mail) => mailText(mail).includes(`/alerts/${encodeURIComponent(alert.id)}`));
      // A mail about the beginning that leaves after the end says so itself.
      expect(
        mails
          .map((mail) => mailHeader(mail, 'Subject').split(':')[0])
          .sort()
          .join(),
      ).toMatch(/^(Alert(, high)?|Over),Over$/);
      expect(new Set(mails.map((mail) => mailHeader(mail, 'Message-ID'))).size).toBe(2);
    },
  );

  test('is found by the link in its mail', { timeout: 20_000 }, async () => {
    const mail = mailText(day.mail.mails.find((one) => mailText(one).includes(encodeURIComponent(alert.id))) ?? '');
    const link = new RegExp(`${day.program.url}(/alerts/\\S+)`).exec(mail)?.[1] ?? '';
    const page = await open(link);
    await page
      .locator('article', { hasText: 'Acknowledged by Ada of the early shift' })
      .getByRole('heading', { name: 'Drill desk' })
      .waitFor();
    await page.close();
  });

  const alarmsSince = (since: number): Promise<AlarmRow[]> => now().then((to) => day.get(`/api/alarms?from=${since}&to=${to}&limit=5000`));
});

const now = async (): Promise<number> => (await day.fleet()).now;

describe('the chamber page', () => {
  let running: string;
  let page: Page;

  test('opens from its tile by click, by keyboard and by address', { timeout: 30_000 }, async () => {
    const tile = await soon('a run that lasts', 20_000, async () => {
      const { chambers, now } = await day.fleet();
      return chambers.find((t) => t.phase === 'plasma' && t.link === 'live' && (t.run?.finish?.likely ?? 0) > now + 12 * 60_000) ?? null;
    });
    running = tile.chamber;
    const name = { name: running, level: 1 } as const;
    page = await open('/');
    const link = page.locator(`[data-chamber="${running}"] a`);
    await link.click();
    await page.getByRole('heading', name).waitFor();
    await page.goBack();
    await link.focus();
    await page.keyboard.press('Enter');
    await page.getByRole('heading', name).waitFor();
    expect(new URL(page.url()).pathname).toBe(`/chamber/${running}`);
    await page.close();
    page = await open(`/chamber/${running}`);
    await page.getByRole('heading', name).waitFor();
  });

  test('follows pressure, flow and power, shows set points, draws, and counts the step', { timeout: 30_000 }, async () => {
    await page.locator('canvas').nth(2).waitFor();
    const values = page.locator('figcaption b');
    await values.filter({ hasText: /mTorr/ }).first().waitFor();
    await expect.poll(async () => (await page.locator('figcaption').allTextContents()).join(' '), { timeout: 8_000 }).toMatch(/set/);
    const forward = page.locator('figcaption', { hasText: 'RF power' }).locator('b').first();
    await expect.poll(() => forward.textContent(), { timeout: 8_000 }).toMatch(/^\d{3,4} W$/);
    const seen = new Set<string>();
    await expect.poll(async () => seen.add((await forward.textContent()) ?? '').size, { timeout: 8_000 }).toBeGreaterThan(2);
    for (const plot of await page.locator('canvas').all()) expect(await plot.evaluate(drawnPixels)).toBeGreaterThan(300);
    const step = page.locator('[aria-current="step"]');
    const first = (await step.textContent()) ?? '';
    expect(first).toMatch(/\d+:\d\d/);
    await expect.poll(() => step.textContent(), { timeout: 5_000 }).not.toBe(first);
    await page.close();
  });

  test('of an unknown chamber says so and leads back', async () => {
    const strange = await open('/chamber/PC-99');
    await strange.getByText(/no chamber/).waitFor();
    expect(await strange.getByRole('link', { name: /wall/i }).count()).toBeGreaterThan(0);
    await strange.close();
  });
});

const drawnPixels = (canvas: HTMLElement | SVGElement): number => {
  const drawing = canvas as HTMLCanvasElement;
  const { data } = drawing.getContext('2d')!.getImageData(0, 0, drawing.width, drawing.height);
  return data.reduce((sum, value, i) => sum + (i % 4 === 3 && value > 0 ? 1 : 0), 0);
};

test('the wall shows what the gateway knows and what really happened, chamber by chamber', { timeout: 30_000 }, async () => {
  const glances = await watch.stop();
  expect(glances.length).toBeGreaterThan(20);
  // A word may trail the gateway's answer and the plant itself by five real seconds: after that the wall calls itself cut off.
  const gateway = againstGateway(glances, 5_000 * SPEED);
  expect(gateway.wrong).toEqual([]);
  expect(gateway.looked).toBe(glances.length * 12);
  const truth = againstTruth(glances, day.truth(), 5_000 * SPEED);
  expect(truth.wrong).toEqual([]);
  expect(truth.looked).toBeGreaterThan(glances.length);
});

describe('a cut and a half-open link at the same time', () => {
  const SILENT = { 'PC-11': { fault: 'link-drop', server: 'cedar-11' }, 'PC-12': { fault: 'half-open-link', server: 'cedar-12' } } as const;
  const silent = Object.keys(SILENT) as (keyof typeof SILENT)[];
  let from: number;

  test('show NO DATA within 15 real seconds on their own tiles alone, and heal', { timeout: 60_000 }, async () => {
    await allOf('heard', 10_000, async (chamber) => (await word(wall, chamber)) !== 'NO DATA');
    from = await now();
    const began = performance.now();
    for (const chamber of silent) await day.order(SILENT[chamber].fault, chamber, { minutes: 16 });
    const saidWhy = new Set<string>();
    await allOf('NO DATA', 15_000, async (chamber) => {
      if ((await serverOf(chamber)).message !== '') saidWhy.add(chamber);
      return (await word(wall, chamber)) === 'NO DATA';
    });
    expect(performance.now() - began).toBeLessThan(15_000);
    const others = CHAMBERS.filter((one) => !(one in SILENT));
    await soon('the others are heard', 2_000, async () => {
      const words = await Promise.all(others.map((chamber) => word(wall, chamber)));
      return words.includes('NO DATA') ? null : words;
    });
    expect([...saidWhy].sort()).toEqual(silent);
    await allOf('healed', 40_000, async (chamber) => (await word(wall, chamber)) !== 'NO DATA');
    await allOf('said to be live', 10_000, async (chamber) => (await serverOf(chamber)).state === 'live');
  });

  test('are covered in the books by as much as was seen or came late, and no more', { timeout: 20_000 }, async () => {
    const to = await now();
    await soon('what is still on its way is told', 8_000, async () => (await now()) > to + 5_000 * SPEED || null);
    for (const chamber of silent) {
      // What was measured meanwhile waits in the server's queue: it arrives late and heals its own time, all of it or a part.
      expect(await coverage(chamber, from, to), chamber).toBeCloseTo(1 - (await unseenMs(chamber, from, to)) / (to - from), 6);
    }
    expect(await coverage('PC-05', from, to)).toBeGreaterThan(0.95);
  });

  const allOf = (what: string, withinMs: number, claim: (chamber: keyof typeof SILENT) => Promise<boolean>): Promise<true> =>
    soon(what, withinMs, async () => (await Promise.all(silent.map(claim))).every(Boolean) || null);
  const serverOf = async (chamber: keyof typeof SILENT): Promise<ServerLine> =>
    (await day.get<ServerLine[]>('/api/servers')).find(({ server }) => server === SILENT[chamber].server)!;
});

async function unseenMs(chamber: string, from: number, to: number): Promise<number> {
  const spans = await day.get<StateInterval[]>(`/api/equipment-time?from=${from}&to=${to}&chamber=${chamber}`);
  return spans.filter(({ state }) => state === 'unobserved').reduce((sum, span) => sum + span.to - span.from, 0);
}

async function coverage(chamber: string, from: number, to: number): Promise<number> {
  const [numbers] = await day.get<SeenNumbers[]>(`/api/numbers?from=${from}&to=${to}&chamber=${chamber}`);
  return numbers?.totalUtilization.coverage ?? 0;
}

describe('the gateway killed and started again while the wall is open', () => {
  let before: Awaited<ReturnType<PlantDay['fleet']>>;
  const places = (): Promise<string[]> =>
    wall.evaluate(() =>
      [...document.querySelectorAll<HTMLElement>('.tile')].map(
        (t) => `${t.dataset['chamber']} ${JSON.stringify(t.getBoundingClientRect())}`,
      ),
    );

  test('the wall says so within 5 real seconds, and heals without a reload with every tile in its place', { timeout: 60_000 }, async () => {
    await soon('runs that last', 20_000, async () => ((await lasting()).length >= 2 ? true : null));
    const [where] = await Promise.all([places(), (async () => (before = await day.fleet()))()]);
    await day.program.kill();
    const killed = performance.now();
    const banner = wall.getByRole('alert');
    await banner.waitFor({ timeout: 5_000 });
    expect(performance.now() - killed).toBeLessThan(5_000);
    expect(await banner.textContent()).toMatch(/No word from the gateway since \d\d:\d\d:\d\d/);
    await day.restart();
    await banner.waitFor({ state: 'detached', timeout: 15_000 });
    expect(await sameLife(wall)).toBe(true);
    expect(await places()).toEqual(where);
  });

  test('open runs go on under their own ids, and what nobody saw is unobserved', { timeout: 50_000 }, async () => {
    const heard = new Set<string>();
    const after = await soon('every chamber is heard again', 30_000, async () => {
      const fleet = await day.fleet();
      if (fleet.boot === before.boot) return null;
      for (const tile of fleet.chambers) if (tile.link === 'live') heard.add(tile.chamber);
      return heard.size === CHAMBERS.length ? fleet : null;
    }).catch((error: Error) => Promise.reject(new Error(`${error.message}; heard: ${[...heard].join(', ')}`)));
    const finished = await day.get<RunRow[]>(`/api/runs?from=${before.now - HOUR_MS}&to=${after.now}&limit=500`);
    const known = new Set([...after.chambers.map((tile) => tile.run?.run), ...finished.map(({ run }) => run)]);
    const open = before.chambers.flatMap((tile) => (tile.run && tile.phase === 'plasma' ? [tile.run.run] : []));
    expect(open.length).toBeGreaterThan(1);
    expect(open.filter((run) => !known.has(run))).toEqual([]);
    expect(after.chambers.filter((tile) => tile.run && open.includes(tile.run.run)).length).toBeGreaterThan(0);
    for (const chamber of CHAMBERS) expect(await unseenMs(chamber, before.now - 60_000, after.now), chamber).toBeGreaterThan(0);
  });

  const lasting = async () => {
    const { chambers, now } = await day.fleet();
    return chambers.filter((tile) => tile.phase === 'plasma' && (tile.run?.finish?.likely ?? 0) > now + 10 * 60_000);
  };
});

describe('the week page', () => {
  const shown = async (week: string) => {
    const page = await open(`/week/${week}`);
    await page.locator('.chambers tbody tr').nth(12).waitFor();
    const rows = await page
      .locator('.chambers tbody tr')
      .evaluateAll((all) => all.map((row) => [...row.querySelectorAll('th, td.n')].map((cell) => cell.textContent ?? '')));
    return { page, rows: rows.map((cells) => cells.map(plain)), text: plain((await page.locator('main').textContent()) ?? '') };
  };

  test('prints the numbers of the API, whose seven states fill every hour of every chamber', { timeout: 40_000 }, async () => {
    const weeks = await day.get<{ week: string; complete: boolean }[]>('/api/weeks');
    expect(weeks.map(({ complete }) => complete)).toEqual([false, true]);
    for (const { week, complete } of weeks) {
      const told = await day.get<WeekPage>(`/api/weeks/${week}`);
      const until = complete ? told.to : told.countedTo;
      for (const numbers of told.chambers) expect(stateSum(numbers), `${week} ${numbers.chamber}`).toBe(until - told.from);
      expect(stateSum(told.fleet), week).toBe(12 * (until - told.from));
      const { page, rows, text } = await shown(week);
      const chambers = rows.slice(0, 12);
      expect(chambers.map(([name]) => name)).toEqual(CHAMBERS);
      if (complete) {
        expect(chambers.map((row) => row[1])).toEqual(told.chambers.map((c) => String(c.loads.completed)));
        expect(chambers.map((row) => row[2])).toEqual(told.chambers.map((c) => whole(c.operationalUtilization.value)));
        expect(text).toContain(`${told.fleet.alarms.activations} in all`);
        for (const loss of told.losses.slice(0, 3)) expect(text).toContain(`${(loss.lostMs / HOUR_MS).toFixed(1)} h`);
      } else expect(text).toContain('provisional');
      // One sheet for the first screen; what lies below it stands on at most three more.
      for (const format of ['A4', 'Letter'])
        expect(pagesOf(await page.pdf({ format, landscape: true, printBackground: true }))).toBeLessThanOrEqual(4);
      await page.close();
    }
  });

  test.each([
    ['2020-W53', 168],
    ['2026-W13', 167],
    ['2025-W43', 169],
  ])('%s, a week without a word from any chamber, is %i unobserved hours and no percentage', { timeout: 20_000 }, async (week, hours) => {
    const told = await day.get<WeekPage>(`/api/weeks/${week}`);
    expect((told.to - told.from) / HOUR_MS).toBe(hours);
    expect(told.hours).toBe(hours);
    expect(told.fleet.operationalUtilization.value).toBeNull();
    const { page, rows, text } = await shown(week);
    expect(text).toContain(`${hours} h`);
    for (const row of rows) expect(row[2], row[0]).toMatch(/^(–|0–100 %)$/);
    expect(text).not.toMatch(/NaN|undefined|Infinity/);
    await page.close();
  });

  test('a week 53 that has not begun says so', { timeout: 15_000 }, async () => {
    const page = await open('/week/2026-W53');
    await page.getByText('2026-W53 has not begun').waitFor();
    await page.close();
  });

  /** As it is read: a space that keeps a number and its unit together is a space. */
  const plain = (text: string): string => text.replace(/[\s\u00a0\u202f]+/g, ' ').trim();
  const stateSum = (numbers: SeenNumbers): number => EQUIPMENT_STATES.reduce((sum, state) => sum + numbers.time[state], 0);
  const whole = (value: number | null): string => (value === null ? '–' : `${Math.round(value * 100)} %`);
});

/** Pages of a PDF, counted by poppler where it is installed, else by its page objects. */
function pagesOf(pdf: Buffer): number {
  const { status, stdout } = spawnSync('pdfinfo', ['-'], { input: pdf, encoding: 'utf8' });
  if (status === 0) return Number(/^Pages:\s+(\d+)/m.exec(stdout)?.[1]);
  return pdf.toString('latin1').match(/\/Type\s*\/Page\b/g)?.length ?? 0;
}

test('equipment time is a partition: to the millisecond, in every chamber, in any window', { timeout: 30_000 }, async () => {
  const to = await now();
  const windows = [
    [to - 7 * HOUR_MS, to],
    [to - 26 * HOUR_MS - 123_457, to - 3_001],
    [to - 5 * 24 * HOUR_MS + 1, to - 4 * 24 * HOUR_MS - 1],
    [Date.UTC(2026, 9, 25), Date.UTC(2026, 9, 26)],
    [to - 60_001, to - 60_000],
  ] as const;
  for (const [from, until] of windows) {
    const spans = await day.get<StateInterval[]>(`/api/equipment-time?from=${from}&to=${until}`);
    for (const chamber of CHAMBERS) {
      expect(
        partitionFaults(
          spans.filter((span) => span.chamber === chamber),
          from,
          until,
        ),
        chamber,
      ).toEqual([]);
    }
  }
});
