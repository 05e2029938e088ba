import { createHmac } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { SMTPServer } from 'smtp-server';
import { afterEach, describe, expect, it } from 'vitest';
import { openDelivery, type Delivering, type DeliveryParts } from '../../../gateway/alerts/deliver.ts';
import type { AlertRoute, MailRoute } from '../../../gateway/alerts/route.ts';
import { messageId } from '../../../gateway/alerts/smtp.ts';
import type { Sending } from '../../../gateway/alerts/telling.ts';
import { sendWebhook as sendWebhookTo, webhookBody, type WebhookTarget } from '../../../gateway/alerts/webhook.ts';
import type { Outcome } from '../../../gateway/alerts/retry.ts';
import type { TellPlan } from '../../../src/alert-plan.ts';
import { memoryStore } from '../../../gateway/store/memory.ts';
import type { Store } from '../../../gateway/store/store.ts';
import { alert as alertSchema, type Alert, type Delivery } from '../../../src/contract.ts';
import { HOSTILE_TEXTS } from '../hostile-texts.ts';
import { exampleAlert, exampleDelivery, T0 } from '../wire-examples.ts';

const place = { site: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin', url: 'http://127.0.0.1:8080' };
const opened: (() => unknown)[] = [];
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

/** A folder of its own, gone afterwards. */
function folder(): string {
  const made = mkdtempSync(join(tmpdir(), 'glowfleet deliver '));
  opened.push(() => rmSync(made, { recursive: true, force: true }));
  return made;
}

const handClock = () => ({ at: T0, now: () => T0, steadyMs: () => 0, speed: 1 });

async function outbox(deliveries: readonly Delivery[], alerts: readonly Alert[] = [exampleAlert()]): Promise<Store> {
  const store = memoryStore();
  await store.append({ events: [], snapshots: new Map(), alerts, deliveries });
  return store;
}

const tell: TellPlan = { to: [], shifts: 'always', otherwise: [], groupMin: 0, repeatMin: null, escalate: null };

function deliver(store: DeliveryParts['store'], routes: readonly AlertRoute[], change: Partial<DeliveryParts> = {}): Delivering {
  const delivering = openDelivery({
    store,
    setting: () => ({ routes, tellOf: () => tell }),
    place,
    clock: handClock(),
    random: () => 1,
    secrets: [],
    log: () => {},
    pollMs: 5,
    onFatal: (error) => expect.unreachable(String(error)),
    ...change,
  });
  opened.push(() => delivering.close());
  return delivering;
}

type Heard = { headers: IncomingMessage['headers']; body: string };
/** A receiver that answers each request by `answer`. */
async function receiver(
  answer: (response: ServerResponse, heard: Heard[]) => void,
): Promise<{ url: string; heard: Heard[]; server: Server }> {
  const heard: Heard[] = [];
  const server = createServer((request, response) => {
    let body = '';
    request.on('data', (part: Buffer) => (body += part.toString()));
    request.on('end', () => {
      heard.push({ headers: request.headers, body });
      answer(response, heard);
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  opened.push(() => (server.closeAllConnections(), new Promise((resolve) => server.close(resolve))));
  return { url: `http://127.0.0.1:${(server.address() as { port: number }).port}/hook`, heard, server };
}

async function until<T>(claim: () => Promise<T | undefined | false>): Promise<T> {
  for (;;) {
    const answer = await claim();
    if (answer) return answer;
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
}
const stored = (store: Store, id: string, state: (d: Delivery) => boolean) =>
  until(async () => (await store.deliveries({})).find((d) => d.id === id && state(d)));
const tried = (store: Store, id: string) => stored(store, id, (d) => d.attempts > 0);
/** A store that counts how often the outbox was looked at; `looked` resolves when it was, twice more. */
function watched(store: Store): Store & { looked(): Promise<unknown> } {
  let looks = 0;
  const deliveries: Store['deliveries'] = (filter) => ((looks += Number(filter.dueBefore !== undefined)), store.deliveries(filter));
  const looked = () => {
    const before = looks;
    return until(async () => looks >= before + 2);
  };
  return { ...store, deliveries, looked };
}
const hook = (url: string, name = 'hook'): AlertRoute => ({ name, type: 'webhook', url, allowPrivate: true });
const sendWebhook = (target: Pick<WebhookTarget, 'url' | 'timeoutMs'> & Partial<WebhookTarget>, what: Sending) =>
  sendWebhookTo({ secrets: [], allowPrivate: true, ...target }, what);
const sending = (change: Partial<Sending> = {}): Sending => ({
  alerts: [exampleAlert()],
  delivery: exampleDelivery(),
  place,
  now: T0,
  ...change,
});
const one = exampleDelivery();

describe('webhook', () => {
  it('the alert arrives as JSON with the delivery as its key, and the delivery is settled', async () => {
    const { url, heard } = await receiver((response) => response.writeHead(204).end());
    const store = await outbox([one]);
    deliver(store, [hook(url)]);
    expect(await tried(store, one.id)).toMatchObject({ state: 'delivered', attempts: 1, deliveredAt: T0 });
    const body = JSON.parse(heard[0]?.body ?? '');
    expect(heard[0]?.headers['idempotency-key']).toBe(one.id);
    expect(heard[0]?.headers['webhook-signature']).toBeUndefined();
    expect(alertSchema.parse(body.alert)).toEqual(exampleAlert());
    expect(body).toMatchObject({
      stage: 'opened',
      link: expect.stringContaining('/alerts/'),
      note: expect.stringContaining('no safety function'),
    });
  });

  // Standard Webhooks specification: v1,base64(HMAC-SHA256(secret, "id.timestamp.body"))
  it('it is signed when there is a secret', async () => {
    const { url, heard } = await receiver((response) => response.end());
    const file = join(folder(), 'secret');
    writeFileSync(file, 'plant secret\n');
    const wallMs = () => T0 + 999;
    await sendWebhook({ url, secrets: [{ file }], timeoutMs: 1_000, wallMs }, sending());
    const signature = (key: string | Buffer, { headers, body }: Heard) =>
      `v1,${createHmac('sha256', key).update([headers['webhook-id'], headers['webhook-timestamp'], body].join('.')).digest('base64')}`;
    expect(heard[0]?.headers['webhook-signature']).toBe(signature('plant secret', heard[0] as Heard));
    expect(heard[0]?.headers['webhook-timestamp']).toBe(String(T0 / 1000));
    // While the receiver changes over, both hold; the file is read anew.
    writeFileSync(file, `whsec_${Buffer.from('new key').toString('base64')}`);
    process.env['OLD_SECRET'] = 'plant secret';
    opened.push(() => delete process.env['OLD_SECRET']);
    await sendWebhook({ url, secrets: [{ file }, { env: 'OLD_SECRET' }], timeoutMs: 1_000, wallMs }, sending());
    const both = [signature(Buffer.from('new key'), heard[1] as Heard), signature('plant secret', heard[1] as Heard)];
    expect(heard[1]?.headers['webhook-signature']).toBe(both.join(' '));
  });

  it('without the secret that was asked for nothing is sent, and it is tried again', async () => {
    const { url, heard } = await receiver((response) => response.end());
    for (const secrets of [[{ file: '/nowhere/secret' }], [{ env: 'NO_SUCH_SECRET' }]]) {
      const outcome = await sendWebhook({ url, secrets, timeoutMs: 1_000 }, sending());
      expect(outcome).toMatchObject({ type: 'failed', reason: expect.stringMatching(/nowhere|NO_SUCH_SECRET/) });
    }
    expect(heard).toEqual([]);
  });

  it('a receiver that fails and then works gets the same key each time', async () => {
    const { url, heard } = await receiver((response, all) => response.writeHead(all.length < 3 ? 500 : 200).end());
    const clock = { at: T0, now: () => clock.at, steadyMs: () => 0, speed: 1 };
    const store = await outbox([one]);
    deliver(store, [hook(url)], { clock });
    for (const attempts of [1, 2]) {
      const waiting = await stored(store, one.id, (d) => d.attempts === attempts);
      expect(waiting).toMatchObject({ state: 'waiting', lastError: 'The webhook answered 500.', nextAt: clock.at + 5_000 * 2 ** attempts });
      clock.at = waiting.nextAt as number;
    }
    await stored(store, one.id, (d) => d.state === 'delivered');
    expect(heard.map((h) => h.headers['idempotency-key'])).toEqual([one.id, one.id, one.id]);
  });

  it('one that is down is tried again', async () => {
    const { url, server } = await receiver((response) => response.end());
    await new Promise((resolve) => server.close(resolve));
    expect(await sendWebhook({ url, timeoutMs: 1_000 }, sending())).toEqual({
      type: 'failed',
      reason: 'The webhook could not be reached (ECONNREFUSED). Is the receiver running?',
      afterMs: null,
    });
  });

  it('one that hangs is left after the time-out', async () => {
    const { url } = await receiver(() => {});
    expect(await sendWebhook({ url, timeoutMs: 60 }, sending())).toEqual({
      type: 'failed',
      reason: 'The webhook did not answer within 0.06 s.',
      afterMs: null,
    });
  });

  it('one that asks for patience gets it', async () => {
    const { url } = await receiver((response) => response.writeHead(429, { 'retry-after': '60' }).end());
    const store = await outbox([one]);
    deliver(store, [hook(url)]);
    expect(await tried(store, one.id)).toMatchObject({ state: 'waiting', nextAt: T0 + 60_000 });
  });

  it('one that refuses for good leaves a dead letter with the cure', async () => {
    const { url } = await receiver((response) => response.writeHead(404).end());
    const store = await outbox([one]);
    const lines: string[] = [];
    deliver(store, [hook(url)], { log: (line) => lines.push(line) });
    expect(await tried(store, one.id)).toMatchObject({
      state: 'dead',
      lastError: 'The webhook answered 404. Check the address in the site file.',
    });
    await until(async () => lines[0]?.includes('was given up'));
  });

  it('no redirect is followed', async () => {
    const inside = await receiver((response) => response.end());
    const { url } = await receiver((response) => response.writeHead(302, { location: inside.url }).end());
    expect(await sendWebhook({ url, timeoutMs: 1_000 }, sending())).toMatchObject({
      type: 'refused',
      reason: expect.stringContaining('302'),
    });
    expect(inside.heard).toEqual([]);
  });

  it('an endless answer is not read', async () => {
    const { url } = await receiver((response) => {
      response.writeHead(200);
      const drip = setInterval(() => response.write('x'.repeat(1000)), 1);
      response.on('close', () => clearInterval(drip));
    });
    expect(await sendWebhook({ url, timeoutMs: 2_000 }, sending())).toEqual({ type: 'delivered' });
  });

  it.each(HOSTILE_TEXTS.map((text) => [text]))('a chamber called %j reaches the receiver as text', (text) => {
    const alert = exampleAlert({ id: text, chamber: text, headline: text });
    const read = JSON.parse(webhookBody(sending({ alerts: [alert], delivery: exampleDelivery({ id: text }) })));
    expect(read.alert.chamber).toBe(text);
    expect(read.subject).not.toMatch(/[\p{Cc}\p{Cf}]/u);
  });
});

describe('mail', () => {
  async function mailServer(
    options: ConstructorParameters<typeof SMTPServer>[0] = {},
  ): Promise<{ route: AlertRoute; mails: { text: string; to: string[] }[] }> {
    const mails: { text: string; to: string[] }[] = [];
    const server = new SMTPServer({
      authOptional: true,
      disabledCommands: ['STARTTLS'],
      logger: false,
      onData: (stream, session, done) => {
        let text = '';
        stream.on('data', (part: Buffer) => (text += part.toString()));
        stream.on('end', () => (mails.push({ text, to: session.envelope.rcptTo.map((r) => r.address) }), done()));
      },
      ...options,
    });
    server.on('error', () => {});
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', () => resolve()));
    opened.push(() => new Promise<void>((resolve) => server.close(() => resolve())));
    const { port } = server.server.address() as { port: number };
    return {
      route: {
        name: 'hook',
        type: 'mail',
        smtp: `smtp://127.0.0.1:${port}`,
        from: 'glowfleet@quellmoor.example',
        to: ['process@quellmoor.example'],
      },
      mails,
    };
  }

  it('the mail server receives it, as text and as simple HTML', async () => {
    const { route, mails } = await mailServer();
    const store = await outbox([one]);
    deliver(store, [route]);
    expect(await tried(store, one.id)).toMatchObject({ state: 'delivered' });
    const { text, to } = mails[0] as (typeof mails)[0];
    expect(to).toEqual(['process@quellmoor.example']);
    expect(text).toContain(`Message-ID: ${messageId(one.id, 'glowfleet@quellmoor.example')}`);
    expect(text).toContain('Subject: Alert: PC-06: 14 alarms since');
    expect(text).toContain('multipart/alternative');
    expect(text).toContain('Auto-Submitted: auto-generated');
  });

  it('the alarms of the last hours come as a picture and in words; where there were none, neither', async () => {
    const { route, mails } = await mailServer();
    const perHour = [0, 2, 0, 14];
    const store = await outbox([one]);
    deliver(store, [route], { alarmsPerHour: async () => perHour });
    await tried(store, one.id);
    const [{ text }] = mails as [(typeof mails)[0]];
    expect(text).toContain('multipart/related');
    expect(text).toContain('Content-Type: image/png');
    const cid = /^Content-ID: <(.+)>/im.exec(text)?.[1];
    const plain = text.replaceAll('=\r\n', '').replaceAll('=3D', '=');
    expect(plain).toContain(`src="cid:${cid}"`);
    expect(plain.match(/Alarms of PC-06 in each of the last 4 hours: 0, 2, 0, 14\./g)?.length).toBeGreaterThan(1);
    const quiet = await mailServer();
    const other = await outbox([one]);
    deliver(other, [quiet.route], { alarmsPerHour: async () => [0, 0] });
    await tried(other, one.id);
    expect(quiet.mails[0]?.text).not.toContain('image/png');
  });

  it('signs in with a password from a file, which is read anew; without it nothing is sent', async () => {
    const asked: string[] = [];
    const { route, mails } = await mailServer({
      authOptional: false,
      allowInsecureAuth: true,
      onAuth: ({ username, password }, _session, done) => {
        asked.push(`${username} ${password}`);
        done(password === 'right' ? null : Object.assign(new Error('no'), { responseCode: 535 }), { user: username });
      },
    });
    const passwordFile = join(folder(), 'mail');
    const store = await outbox([one]);
    const clock = { at: T0, now: () => clock.at, steadyMs: () => 0, speed: 1 };
    deliver(store, [{ ...(route as MailRoute), user: { name: 'wall', passwordFile } }], { clock });
    const first = await tried(store, one.id);
    expect(first).toMatchObject({ state: 'waiting', lastError: expect.stringContaining('cannot be read (ENOENT)') });
    expect(asked).toEqual([]);
    writeFileSync(passwordFile, 'right\n');
    clock.at = first.nextAt as number;
    await stored(store, one.id, (d) => d.state === 'delivered');
    expect([asked, mails.length]).toEqual([['wall right'], 1]);
  });

  it('a plant text cannot write headers or add receivers', async () => {
    const { route, mails } = await mailServer();
    const hostile = HOSTILE_TEXTS.filter((text) => /[\r\n]/.test(text));
    const alerts = hostile.map((text, n) => exampleAlert({ id: `a${n}`, chamber: text, headline: text }));
    const store = await outbox(
      // Tried before, so that each goes on its own.
      alerts.map((a) => exampleDelivery({ id: `d${a.id}`, alert: a.id, attempts: 1 })),
      alerts,
    );
    deliver(store, [route]);
    await until(async () => mails.length === hostile.length);
    for (const { text, to } of mails) {
      const head = text.slice(0, text.indexOf('\r\n\r\n'));
      expect(to).toEqual(['process@quellmoor.example']);
      expect(head).not.toMatch(/^(Bcc|X):/im);
      expect(head.match(/^Subject:/gim)).toHaveLength(1);
    }
  });

  it.each([
    [450, 'waiting'],
    [550, 'dead'],
  ])('a refusal with %i leaves it %s', async (responseCode, state) => {
    const { route } = await mailServer({ onRcptTo: (_to, _session, done) => done(Object.assign(new Error('not here'), { responseCode })) });
    const store = await outbox([one]);
    deliver(store, [route]);
    expect(await tried(store, one.id)).toMatchObject({ state, lastError: expect.stringContaining(String(responseCode)) });
  });

  it('a mail server that is down is tried again', async () => {
    const store = await outbox([one]);
    deliver(store, [{ name: 'hook', type: 'mail', smtp: 'smtp://127.0.0.1:1', from: 'a@b.example', to: ['c@d.example'] }]);
    expect(await tried(store, one.id)).toMatchObject({ state: 'waiting', lastError: expect.stringContaining('could not be reached') });
  });
});

describe('the outbox', () => {
  it('a route that hangs holds back nobody but itself', async () => {
    const [stuck, free] = [exampleDelivery({ id: 'stuck', route: 'a' }), exampleDelivery({ id: 'free', route: 'b' })];
    const store = await outbox([stuck, free]);
    let release: (outcome: Outcome) => void = () => {};
    const send = (route: AlertRoute): Promise<Outcome> =>
      route.name === 'a' ? new Promise((resolve) => (release = resolve)) : Promise.resolve({ type: 'delivered' });
    deliver(store, [hook('http://a.example', 'a'), hook('http://b.example', 'b')], { send });
    expect((await tried(store, 'free')).state).toBe('delivered');
    expect((await store.deliveries({})).find((d) => d.id === 'stuck')?.attempts).toBe(0);
    release({ type: 'delivered' });
    expect((await tried(store, 'stuck')).state).toBe('delivered');
  });

  it('one message at a time on a route, oldest first, an opening before its closing', async () => {
    const deliveries = [
      exampleDelivery({ id: '3', nextAt: T0, stage: 'closed' }),
      exampleDelivery({ id: '1', nextAt: T0 - 5 }),
      exampleDelivery({ id: '2', nextAt: T0 }),
      exampleDelivery({ id: 'later', nextAt: T0 + 1 }),
    ];
    const store = watched(await outbox(deliveries));
    const sent: string[] = [];
    let underWay = 0;
    const send = async (_route: AlertRoute, { delivery }: Sending): Promise<Outcome> => {
      expect(++underWay).toBe(1);
      await store.looked();
      underWay -= 1;
      sent.push(delivery.id);
      return { type: 'delivered' };
    };
    deliver(store, [hook('http://a.example')], { send });
    await tried(store, '3');
    expect(sent).toEqual(['1', '2', '3']);
  });

  it('an alert that was over before its first message got through is told once', async () => {
    const over = exampleAlert({ state: 'closed', closedAt: T0 });
    const [opening, closing] = [
      exampleDelivery({ id: 'o', alert: over.id }),
      exampleDelivery({ id: 'c', alert: over.id, stage: 'closed' }),
    ];
    const store = watched(await outbox([opening, closing], [over]));
    const sent: string[] = [];
    deliver(store, [hook('http://a.example')], { send: async (_r, s) => (sent.push(s.delivery.id), { type: 'delivered' }) });
    expect(await stored(store, 'c', (d) => d.state === 'delivered')).toMatchObject({ deliveredAt: T0 });
    await store.looked();
    expect(sent).toEqual(['o']);
  });

  it('a message whose route or alert is gone is a dead letter, not a silence', async () => {
    const store = await outbox([exampleDelivery({ id: 'r', route: 'gone' }), exampleDelivery({ id: 'a', alert: 'gone' })]);
    deliver(store, [hook('http://a.example')]);
    expect(await tried(store, 'r')).toMatchObject({ state: 'dead', lastError: expect.stringContaining('no route') });
    expect(await tried(store, 'a')).toMatchObject({ state: 'dead', lastError: expect.stringContaining('not in the store') });
  });

  it('a store that fails ends delivery instead of sending for ever', async () => {
    const store = await outbox([one]);
    const fatal: unknown[] = [];
    let sent = 0;
    const failing = { ...store, saveDeliveries: () => Promise.reject(new Error('disk gone')) };
    const delivering = deliver(failing, [hook('http://a.example')], {
      send: async () => (sent++, { type: 'delivered' }),
      onFatal: (error) => fatal.push(error),
    });
    await until(async () => fatal.length > 0);
    delivering.wake();
    await delivering.close();
    expect([sent, fatal.length]).toEqual([1, 1]);
  });

  it('closing waits for the message under way and starts no other', async () => {
    const store = await outbox([exampleDelivery({ id: '1' }), exampleDelivery({ id: '2' })]);
    const answer = Promise.withResolvers<Outcome>();
    const sent: string[] = [];
    const delivering = deliver(store, [hook('http://a.example')], {
      send: async (_r, s) => {
        sent.push(s.delivery.id);
        return await answer.promise;
      },
    });
    await until(async () => sent.length === 1);
    const closing = delivering.close();
    answer.resolve({ type: 'delivered' });
    await closing;
    expect((await store.deliveries({})).map((d) => d.state)).toEqual(['delivered', 'waiting']);
    expect(sent).toEqual(['1']);
  });
});

it('what was given up is counted when something changed, and not read again at each look', async () => {
  const memory = await outbox([{ ...one, state: 'dead', nextAt: null }]);
  let counted = 0;
  const counting: Store['deliveries'] = (filter) => (
    (counted += Number(filter.states?.includes('dead') === true)),
    memory.deliveries(filter)
  );
  const store = watched({ ...memory, deliveries: counting });
  const delivering = deliver(store, [hook('http://127.0.0.1:9/x')]);
  await store.looked();
  const before = counted;
  for (let i = 0; i < 3; i++) await store.looked();
  expect(counted).toBe(before);
  expect(delivering.states()[0]).toMatchObject({ dead: 1 });
  delivering.wake();
  await until(() => Promise.resolve(counted > before));
});
