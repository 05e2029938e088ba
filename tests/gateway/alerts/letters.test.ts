// The Monday letter against a real SMTP server (smtp-server) that is down, slow, refuses, or hears us die.
import { mkdtempSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { SMTPServer } from 'smtp-server';
import { afterEach, describe, expect, it } from 'vitest';
import { openLetters, type Composed, type LetterParts, type Letters } from '../../../gateway/alerts/letters.ts';
import type { MailRoute } from '../../../gateway/alerts/route.ts';
import { memoryStore } from '../../../gateway/store/memory.ts';
import { openSqlite } from '../../../gateway/store/sqlite.ts';
import type { LetterStore } from '../../../gateway/store/store.ts';
import type { WeekLetter } from '../../../src/contract.ts';
import { dueSummary } from '../../../src/week-due.ts';

const MONDAY = Date.parse('2026-11-23T05:30:00Z');
const HOUR = 3_600_000;
const PDF = Buffer.from('%PDF-1.7 sheets of the week');

const opened: (() => unknown)[] = [];
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

type Heard = { readonly id: string; readonly text: string; readonly to: readonly string[] };
type Answer = () => Error | null | Promise<Error | null>;

async function mailServer(
  answer: Answer = () => null,
  port = 0,
): Promise<{ readonly port: number; readonly mails: Heard[]; close(): Promise<void> }> {
  const mails: Heard[] = [];
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS'],
    logger: false,
    onData: (stream, session, done) => {
      let text = '';
      stream.on('data', (part: Buffer) => (text += part.toString()));
      const reply = (refusal: Error | null): void => {
        if (refusal === null)
          mails.push({ id: /^Message-ID: (.*)\r$/m.exec(text)?.[1] ?? '', text, to: session.envelope.rcptTo.map((r) => r.address) });
        done(refusal);
      };
      stream.on('end', () => void Promise.resolve(answer()).then(reply));
    },
  });
  server.on('error', () => {});
  await new Promise<void>((resolve) => server.listen(port, '127.0.0.1', () => resolve()));
  const close = () => new Promise<void>((resolve) => server.close(() => resolve()));
  opened.push(close);
  return { port: (server.server.address() as { port: number }).port, mails, close };
}

const smtpError = (code: number): Error => Object.assign(new Error('no'), { responseCode: code });
const route = (port: number, name = 'managers'): MailRoute => ({
  name,
  type: 'mail',
  smtp: `smtp://127.0.0.1:${port}`,
  from: 'glowfleet@quellmoor.example',
  to: [`${name}@quellmoor.example`],
});
const composed = (week: string): Composed => ({
  subject: `Week ${week}: 1942 loads`,
  text: `Week ${week}`,
  html: `<p>Week ${week}</p>`,
  attachment: { name: `glowfleet-week-${week}.pdf`, bytes: PDF },
  figures: [{ name: 'Loads', text: '1942' }],
});

type World = { readonly store: LetterStore; now: number; speed?: number };
function round(world: World, routes: readonly MailRoute[], change: Partial<LetterParts> = {}): Letters {
  const letters = openLetters({
    store: world.store,
    routes,
    names: routes.map(({ name }) => name),
    due: (now) => dueSummary(now, { zone: 'Europe/Berlin', time: '06:30' }),
    isOnRecord: () => Promise.resolve(true),
    compose: (week) => Promise.resolve(composed(week)),
    clock: { now: () => world.now, steadyMs: () => 0, speed: world.speed ?? 1 },
    random: () => 1,
    log: () => {},
    onFatal: (error) => expect.unreachable(String(error)),
    pollMs: 5,
    ...change,
  });
  opened.push(() => letters.close());
  return letters;
}

async function until<T>(claim: () => Promise<T | undefined | false>): Promise<T> {
  for (;;) {
    const found = await claim();
    if (found) return found;
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
}
const letterWith = ({ store }: World, claim: (letter: WeekLetter) => boolean) => until(async () => (await store.letters({})).find(claim));
/** So many looks at the outbox later. */
async function looks(world: World, count: number): Promise<World> {
  let seen = 0;
  const store: LetterStore = {
    ...world.store,
    letters: (filter) => {
      if (filter.dueBefore !== undefined) seen += 1;
      return world.store.letters(filter);
    },
  };
  const watching = { ...world, store };
  const letters = round(watching, []);
  await until(async () => seen >= count);
  await letters.close();
  return world;
}

describe('the Monday letter', () => {
  it('goes out at its hour, not before: text, HTML and the sheets attached, under an id made of week and route', async () => {
    const { port, mails } = await mailServer();
    const world = { store: memoryStore(), now: MONDAY - 1 };
    round(world, [route(port)]);
    await looks(world, 3);
    expect([mails.length, await world.store.letters({})]).toEqual([0, []]);
    world.now = MONDAY;
    const letter = await letterWith(world, ({ state }) => state === 'delivered');
    expect(letter).toMatchObject({
      id: 'week|2026-W47|managers',
      dueAt: MONDAY,
      attempts: 1,
      deliveredAt: MONDAY,
      figures: [{ name: 'Loads', text: '1942' }],
    });
    const [mail] = mails;
    expect(mail?.to).toEqual(['managers@quellmoor.example']);
    expect(mail?.id).toMatch(/^<[0-9a-f]{40}@quellmoor\.example>$/);
    for (const part of [
      'Subject: Week 2026-W47: 1942 loads',
      'text/plain',
      'text/html',
      'application/pdf',
      'glowfleet-week-2026-W47.pdf',
      PDF.toString('base64'),
    ])
      expect(mail?.text).toContain(part);
  });

  it('goes out once, however often the gateway looks or starts again', async () => {
    const { port, mails } = await mailServer();
    const world = { store: memoryStore(), now: MONDAY };
    const first = round(world, [route(port)]);
    await letterWith(world, ({ state }) => state === 'delivered');
    await first.close();
    for (const later of [0, HOUR, 5 * 24 * HOUR]) {
      world.now = MONDAY + later;
      const again = round(world, [route(port)]);
      await looks(world, 2);
      await again.close();
    }
    expect(mails).toHaveLength(1);
  });

  it('goes to each route once, and one that is down holds back nobody else', async () => {
    const { port, mails } = await mailServer();
    const world = { store: memoryStore(), now: MONDAY };
    round(world, [route(port, 'managers'), route(await closedPort(), 'board')]);
    await letterWith(world, ({ route: name, state }) => name === 'managers' && state === 'delivered');
    const waiting = await letterWith(world, ({ route: name, attempts }) => name === 'board' && attempts > 0);
    expect([mails.length, waiting.state]).toEqual([1, 'waiting']);
    expect(waiting.lastError).toMatch(
      /^The mail server could not be reached \(ECONNECTION|^The mail server could not be reached \(ESOCKET/,
    );
  });

  it('a gateway that was down on Monday sends it when it is back in the week, and not in the next', async () => {
    const { port, mails } = await mailServer();
    const world = { store: memoryStore(), now: Date.parse('2026-11-29T22:59:00Z') };
    round(world, [route(port)]);
    await letterWith(world, ({ state }) => state === 'delivered');
    const later = { store: memoryStore(), now: Date.parse('2026-11-29T23:00:00Z') };
    round(later, [route(port)]);
    await looks(later, 3);
    expect([mails.length, await later.store.letters({})]).toEqual([1, []]);
  });

  it('a server that is down, then busy, then there gets it once, under one Message-ID', async () => {
    const port = await closedPort();
    const world = { store: memoryStore(), now: MONDAY };
    const letters = round(world, [route(port)]);
    await letterWith(world, ({ attempts }) => attempts === 1);
    expect(letters.problems()).toEqual([
      expect.stringMatching(/^The summary of week 2026-W47 is not yet mailed by route managers: The mail server could not be reached/),
    ]);
    const busy = await mailServer(() => smtpError(451), port);
    world.now += HOUR;
    await letterWith(world, ({ attempts }) => attempts === 2);
    await busy.close();
    const { mails } = await mailServer(() => null, port);
    world.now += HOUR;
    const sent = await letterWith(world, ({ state }) => state === 'delivered');
    await looks(world, 2);
    expect([mails.length, busy.mails.length, sent.attempts, sent.lastError]).toEqual([1, 0, 3, null]);
    expect(letters.problems()).toEqual([]);
  });

  it('a slow server is not asked twice meanwhile', async () => {
    const gate = Promise.withResolvers<null>();
    let asked = 0;
    const { port, mails } = await mailServer(() => ((asked += 1), gate.promise));
    const world = { store: memoryStore(), now: MONDAY };
    round(world, [route(port)]);
    await until(async () => asked === 1);
    await looks(world, 5);
    gate.resolve(null);
    await letterWith(world, ({ state }) => state === 'delivered');
    expect([asked, mails.length]).toEqual([1, 1]);
  });

  it('a server that refuses for good makes a dead letter, which is a problem that names the cure', async () => {
    const { port, mails } = await mailServer(() => smtpError(550));
    const world = { store: memoryStore(), now: MONDAY };
    const letters = round(world, [route(port)]);
    const dead = await letterWith(world, ({ state }) => state === 'dead');
    await looks(world, 2);
    expect([dead.attempts, mails.length]).toEqual([1, 0]);
    expect(letters.problems()).toEqual([
      'The summary of week 2026-W47 was not mailed by route managers: The mail server refused with 550. Check sender, receivers and sign-in in the site file.',
    ]);
    await letters.close();
    const again = round(world, [route(port)]);
    await until(async () => again.problems().length === 1);
  });

  it('is given up when its week is over', async () => {
    const world = { store: memoryStore(), now: MONDAY };
    const first = round(world, [route(await closedPort())]);
    await letterWith(world, ({ attempts }) => attempts === 1);
    await first.close();
    world.now = Date.parse('2026-11-29T23:00:00Z');
    const { port, mails } = await mailServer();
    round(world, [route(port)]);
    const dead = await letterWith(world, ({ state }) => state === 'dead');
    expect([dead.lastError, mails.length]).toEqual(['Its week was over before it could be sent.', 0]);
  });

  it("killed between the server's word and our disk, it is sent again under the same Message-ID", async () => {
    const { port, mails } = await mailServer();
    const folder = mkdtempSync(join(tmpdir(), 'glowfleet letters '));
    opened.push(() => rmSync(folder, { recursive: true, force: true }));
    const before = await openSqlite(folder);
    const died = Promise.withResolvers<unknown>();
    const store = { ...before, saveLetter: () => Promise.reject(new Error('killed')) };
    const dying = round({ store, now: MONDAY }, [route(port)], { onFatal: (error) => died.resolve(error) });
    await died.promise;
    await dying.close();
    await before.close();
    const after = await openSqlite(folder);
    opened.push(() => after.close());
    const world = { store: after, now: MONDAY + HOUR };
    const letters = round(world, [route(port)]);
    await letterWith(world, ({ state }) => state === 'delivered');
    await looks(world, 2);
    await letters.close();
    expect(mails).toHaveLength(2);
    expect(new Set(mails.map(({ id }) => id)).size).toBe(1);
  });

  it('says nothing of a week of which nothing is on record, and nothing where no route is named', async () => {
    const { port, mails } = await mailServer();
    const world = { store: memoryStore(), now: MONDAY };
    round(world, [route(port)], { isOnRecord: () => Promise.resolve(false) });
    round(world, [route(port)], { names: [] });
    await looks(world, 3);
    expect([mails.length, await world.store.letters({})]).toEqual([0, []]);
  });

  it('a route that the site file names no more is a dead letter', async () => {
    const world = { store: memoryStore(), now: MONDAY };
    const first = round(world, [route(await closedPort())]);
    await letterWith(world, ({ attempts }) => attempts === 1);
    await first.close();
    world.now += HOUR;
    round(world, []);
    expect((await letterWith(world, ({ state }) => state === 'dead')).lastError).toMatch(
      /no summary by a mail route of this name any more/,
    );
  });

  it('a summary that cannot be made is tried again, and the log says why', async () => {
    const { port, mails } = await mailServer();
    const world = { store: memoryStore(), now: MONDAY };
    const logged: string[] = [];
    let works = false;
    const compose = (week: string): Promise<Composed> => (works ? Promise.resolve(composed(week)) : Promise.reject(new Error('no')));
    round(world, [route(port)], { compose, log: (message) => logged.push(message) });
    await letterWith(world, ({ attempts }) => attempts === 1);
    works = true;
    world.now += HOUR;
    await letterWith(world, ({ state }) => state === 'delivered');
    expect([logged, mails.length]).toEqual([['The summary of week 2026-W47 could not be made'], 1]);
  });

  it('a hurried plant waits as long in its own time as its speed makes of real seconds', async () => {
    const world = { store: memoryStore(), now: MONDAY, speed: 60 };
    round(world, [route(await closedPort())]);
    const { nextAt } = await letterWith(world, ({ attempts }) => attempts === 1);
    expect(nextAt).toBe(MONDAY + 60 * 10_000);
  });
});

/** A port where nobody listens. */
async function closedPort(): Promise<number> {
  const server = createServer();
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as { port: number };
  await new Promise((resolve) => server.close(resolve));
  return port;
}
