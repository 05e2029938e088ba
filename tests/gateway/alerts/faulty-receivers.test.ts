/** Receivers as they really fail, on real sockets: nothing is lost, nothing is held up, everything is seen, and doubles carry one key. */
import { createServer, type Socket } from 'node:net';
import { SMTPServer } from 'smtp-server';
import { afterAll, describe, expect, it } from 'vitest';
import { openDelivery, type Delivering } from '../../../gateway/alerts/deliver.ts';
import type { AlertRoute } from '../../../gateway/alerts/route.ts';
import { memoryStore } from '../../../gateway/store/memory.ts';
import type { Store } from '../../../gateway/store/store.ts';
import { newDelivery, type TellPlan } from '../../../src/alert-plan.ts';
import type { Delivery } from '../../../src/contract.ts';
import { exampleAlert, T0 } from '../wire-examples.ts';

/** Long enough for a busy machine: the good receiver must never be too slow. */
const TIMEOUT_MS = 1_000;
const open: (() => unknown)[] = [];
afterAll(async () => {
  for (const close of open.splice(0).reverse()) await close();
});

type Behaviour = (socket: Socket, heard: string, nth: number) => void;

/** A server of bare TCP: what it says is up to `behave`, called with all that was heard so far at each piece. */
async function bareServer(behave: Behaviour, greet: (socket: Socket) => void = () => {}): Promise<{ port: number; heard: string[] }> {
  const heard: string[] = [];
  const sockets = new Set<Socket>();
  const server = createServer((socket) => {
    const nth = heard.push('') - 1;
    sockets.add(socket);
    socket.on('error', () => {});
    socket.on('data', (piece: Buffer) => {
      heard[nth] += piece.toString('latin1');
      behave(socket, heard[nth] ?? '', nth);
    });
    greet(socket);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  open.push(() => {
    sockets.forEach((socket) => socket.destroy());
    return new Promise((resolve) => server.close(resolve));
  });
  return { port: (server.address() as { port: number }).port, heard };
}

const tell: TellPlan = { to: [], shifts: 'always', otherwise: [], groupMin: 0, repeatMin: null, escalate: null };
const alert = exampleAlert();
const message = (route: string): Delivery => newDelivery({ alert: alert.id, route, stage: 'opened', at: T0 });
const webhook = (name: string, port: number): AlertRoute => ({
  name,
  type: 'webhook',
  url: `http://127.0.0.1:${port}/`,
  allowPrivate: true,
});
const mail = (name: string, port: number): AlertRoute => ({
  ...{ name, type: 'mail', smtp: `smtp://127.0.0.1:${port}`, from: 'wall@plant.example', to: ['engineer@plant.example'] },
});

type World = { readonly store: Store; readonly delivering: Delivering; readonly clock: { at: number }; readonly fatal: unknown[] };
async function world(routes: readonly AlertRoute[]): Promise<World> {
  const store = memoryStore();
  const clock = { at: T0 };
  const fatal: unknown[] = [];
  await store.append({ events: [], snapshots: new Map(), alerts: [alert], deliveries: routes.map(({ name }) => message(name)) });
  const delivering = openDelivery({
    store,
    setting: () => ({ routes, tellOf: () => tell }),
    place: { site: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin', url: 'http://127.0.0.1:8080' },
    clock: { now: () => clock.at, steadyMs: () => performance.now(), speed: 1 },
    random: () => 0,
    secrets: [],
    log: () => {},
    onFatal: (error) => fatal.push(error),
    pollMs: 5,
    timeoutMs: TIMEOUT_MS,
  });
  open.push(() => delivering.close());
  return { store, delivering, clock, fatal };
}

async function reached(store: Store, route: string, is: (one: Delivery) => boolean): Promise<Delivery> {
  for (;;) {
    const [one] = await store.deliveries({ routes: [route] });
    if (one !== undefined && is(one)) return one;
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
}

const whole = (heard: string): boolean => heard.includes('"note"');
const OK = 'HTTP/1.1 204 No Content\r\n\r\n';
const WEBHOOK_FAULTS: readonly (readonly [string, Behaviour, RegExp])[] = [
  ['takes the connection and says nothing', () => {}, /did not answer within/],
  ['ends the connection when it has heard all', (socket, heard) => whole(heard) && socket.destroy(), /could not be reached|socket/],
  ['resets the connection at the first word', (socket) => socket.resetAndDestroy(), /could not be reached/],
  ['answers half a head and hangs', (socket, heard) => whole(heard) && socket.write('HTTP/1.1 20'), /did not answer within/],
  [
    'answers half a head and ends',
    (socket, heard) => whole(heard) && socket.end('HTTP/1.1 200 OK\r\nconte'),
    /could not be reached|not HTTP/,
  ],
  ['answers garbage', (socket, heard) => whole(heard) && socket.end('\u0000\u00ff nonsense\r\n\r\n'), /not HTTP/],
  [
    'answers with a head without end',
    (socket, heard) => whole(heard) && socket.write(`HTTP/1.1 200 OK\r\n${'x-more: y\r\n'.repeat(20_000)}`),
    /not HTTP|reached|answer/,
  ],
  [
    'drips a head, a byte at a time',
    (socket, heard) => whole(heard) && drip(socket, `HTTP/1.1 204 No Content\r\n${'x-y: z\r\n'.repeat(1000)}`, 20),
    /did not answer within|not HTTP/,
  ],
  [
    'says 100 Continue for ever',
    (socket, heard) => whole(heard) && drip(socket, 'HTTP/1.1 100 Continue\r\n\r\n'.repeat(1000), 5),
    /did not answer within/,
  ],
  ['answers 500', (socket, heard) => whole(heard) && socket.end('HTTP/1.1 500 x\r\ncontent-length: 0\r\n\r\n'), /answered 500/],
];

function drip(socket: Socket, text: string, pieceMs: number): void {
  let sent = 0;
  const timer = setInterval(() => (sent < text.length ? socket.write(text.slice(sent, (sent += 3))) : clearInterval(timer)), pieceMs);
  socket.on('close', () => clearInterval(timer));
}

describe.concurrent('a webhook receiver that', () => {
  it.each(WEBHOOK_FAULTS)('%s: seen and tried again under the same key, others are not held up', async (_name, fault, reason) => {
    const bad = await bareServer((socket, heard, nth) => (nth === 0 ? fault(socket, heard, nth) : whole(heard) && socket.end(OK)));
    const good = await bareServer((socket, heard) => whole(heard) && socket.end(OK));
    const { store, delivering, clock, fatal } = await world([webhook('bad', bad.port), webhook('good', good.port)]);
    expect(await reached(store, 'good', ({ state }) => state === 'delivered')).toMatchObject({ attempts: 1 });
    const waiting = await reached(store, 'bad', ({ attempts }) => attempts === 1);
    expect(waiting).toMatchObject({ state: 'waiting', lastError: expect.stringMatching(reason) });
    await reachedState(delivering, 'bad', 'failing');
    expect(delivering.states().find(({ route }) => route === 'bad')).toMatchObject({ waiting: 1, dead: 0, lastError: waiting.lastError });
    clock.at = waiting.nextAt as number;
    expect(await reached(store, 'bad', ({ state }) => state === 'delivered')).toMatchObject({ attempts: 2 });
    const keys = bad.heard.map((text) => /idempotency-key: (\S+)/i.exec(text)?.[1]).filter((key) => key !== undefined);
    expect(new Set(keys).size).toBe(1);
    await reachedState(delivering, 'bad', 'well');
    expect(fatal).toEqual([]);
  });

  it('takes it and then hangs half-way through its answer has taken it', async () => {
    const { port, heard } = await bareServer(
      (socket, text) => whole(text) && socket.write('HTTP/1.1 200 OK\r\ncontent-length: 1000\r\n\r\nhalf'),
    );
    const { store } = await world([webhook('half', port)]);
    expect(await reached(store, 'half', ({ state }) => state === 'delivered')).toMatchObject({ attempts: 1 });
    expect(heard).toHaveLength(1);
  });
});

async function reachedState(delivering: Delivering, name: string, wanted: string): Promise<void> {
  while (delivering.states().find(({ route }) => route === name)?.state !== wanted) await new Promise((resolve) => setTimeout(resolve, 5));
}

const greets = (text: string) => (socket: Socket) => void socket.write(text);
const silent = (): void => {};
/** Takes everything up to the data, and then does as `at` says. */
const until =
  (last: (socket: Socket) => void): Behaviour =>
  (socket, heard) => {
    if (heard.endsWith('\r\n.\r\n')) return last(socket);
    if (/DATA\r\n$/i.test(heard)) return void socket.write('354 go on\r\n');
    if (/\r\n$/.test(heard) && !/DATA\r\n/i.test(heard)) socket.write('250 ok\r\n');
  };
const MAIL_FAULTS: readonly (readonly [string, Behaviour, (socket: Socket) => void, RegExp])[] = [
  ['takes the connection and says nothing', silent, silent, /could not be reached/],
  ['greets with garbage', silent, greets('\u0000\u00ff nonsense\r\n'), /said|reached/],
  ['greets with 421', silent, greets('421 too busy\r\n'), /said 421/],
  ['drips its greeting', silent, (socket) => drip(socket, '220-x\r\n'.repeat(5000), 20), /could not be reached/],
  ['ends the connection after the greeting', (socket) => socket.destroy(), greets('220 here\r\n'), /could not be reached/],
  ['says 451 to the message', until((socket) => socket.write('451 later\r\n')), greets('220 here\r\n'), /said 451/],
  ['hangs in the middle of the message', until(silent), greets('220 here\r\n'), /could not be reached/],
  ['ends the connection when it has the message', until((socket) => socket.destroy()), greets('220 here\r\n'), /could not be reached/],
  ['answers garbage to the message', until((socket) => socket.write('what?\r\n')), greets('220 here\r\n'), /said|reached/],
];

describe.concurrent('a mail server that', () => {
  it.each(MAIL_FAULTS)(
    '%s: seen and tried again under the same Message-ID, others are not held up',
    async (_name, behave, greet, reason) => {
      const bad = await bareServer(behave, greet);
      const good = await mailServer();
      const routes = [mail('bad', bad.port), mail('good', good.port)];
      const { store, delivering, clock, fatal } = await world(routes);
      expect(await reached(store, 'good', ({ state }) => state === 'delivered')).toMatchObject({ attempts: 1 });
      const waiting = await reached(store, 'bad', ({ attempts }) => attempts === 1);
      expect(waiting).toMatchObject({ state: 'waiting', lastError: expect.stringMatching(reason) });
      await reachedState(delivering, 'bad', 'failing');
      routes[0] = mail('bad', good.port);
      clock.at = waiting.nextAt as number;
      await reached(store, 'bad', ({ state }) => state === 'delivered');
      const idOf = (text: string): string | undefined => /^Message-ID: (\S+)/im.exec(text)?.[1];
      const before = bad.heard.map(idOf).filter((id) => id !== undefined);
      expect(before.every((id) => id === idOf(good.mails[1] ?? ''))).toBe(true);
      expect(fatal).toEqual([]);
    },
  );
});

async function mailServer(): Promise<{ port: number; mails: string[] }> {
  const mails: string[] = [];
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS'],
    logger: false,
    onData: (stream, _session, done) => {
      let text = '';
      stream.on('data', (part: Buffer) => (text += part.toString()));
      stream.on('end', () => (mails.push(text), done()));
    },
  });
  server.on('error', () => {});
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', () => resolve()));
  open.push(() => new Promise<void>((resolve) => server.close(() => resolve())));
  return { port: (server.server.address() as { port: number }).port, mails };
}
