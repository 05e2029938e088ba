/**
 * A double of the gateway for the pages: serves the built dashboard and fixture answers with the same headers, paths and socket words as
 * the real one. It can be killed and started again on its port. Run by hand: node tests/e2e/mock-gateway.ts 8499 12
 */
import { readFile } from 'node:fs/promises';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import { extname, join, normalize } from 'node:path';
import { Server as SocketServer } from 'socket.io';
import type { Alert, ChamberDetail, ChamberTile, Changes, Fleet, FleetStrip, ReasonRow } from '../../src/contract.ts';
import { faultCode } from '../../src/fault.ts';
import { DEFAULT_REASONS } from '../../src/reason-list.ts';
import { detailOf, fleetOf, runsOf, sample, serversOf, siteAnswerOf, strip, traceOf } from './fixture-plant.ts';
import { mockInbox, type MockInbox } from './fixture-inbox.ts';
import { recordOf } from './fixture-run.ts';
import { stopsOf } from './fixture-stops.ts';
import { givenUpOf, routesOf, testedBy } from './fixture-messages.ts';
import { exampleExplanation } from '../gateway/wire-examples.ts';
import { alarmStatisticsOf, journalOf } from './fixture-alarms.ts';
import { chamberDriftOf, countersOf, driftOf } from './fixture-drift.ts';
import { weekLineOf, weekOf } from './fixture-week.ts';

const TYPES: Record<string, string> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.svg': 'image/svg+xml',
  '.woff2': 'font/woff2',
  '.txt': 'text/plain; charset=utf-8',
};
const POLICY = "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

export type MockGateway = {
  readonly url: string;
  readonly port: number;
  readonly hellos: unknown[];
  readonly inbox: MockInbox;
  /** One more alert, told to every page. */
  call(alert: Alert): void;
  /** Changes what one chamber's tile says and tells the pages. */
  say(chamber: string, change: Partial<ChamberTile>): void;
  /** Changes what the strip says from then on. */
  sayStrip(change: (strip: FleetStrip) => FleetStrip): void;
  stop(): Promise<void>;
};
export type MockSettings = {
  readonly chambers: number;
  readonly dist?: string;
  readonly port?: number;
  readonly boot?: string;
  readonly now?: () => number;
};

export async function startMockGateway({
  chambers,
  dist = join(import.meta.dirname, '../../dist'),
  port = 0,
  boot = 'first',
  now = Date.now,
}: MockSettings): Promise<MockGateway> {
  const first = fleetOf(chambers, now(), boot);
  let fleet: Fleet = first;
  let onStrip = (said: FleetStrip): FleetStrip => said;
  const hellos: unknown[] = [];
  const inbox = mockInbox(now);
  let reasons: readonly ReasonRow[] = [];
  const server = createServer((request, response) => void answer(request, response).catch((error: unknown) => fail(response, error)));
  const sockets = new SocketServer(server, { serveClient: false });

  const answer = async (request: IncomingMessage, response: ServerResponse): Promise<void> => {
    const url = new URL(request.url ?? '/', 'http://mock');
    const acted = request.method === 'POST' ? inboxAct(url.pathname) : null;
    if (acted) {
      const body = JSON.parse(await text(request)) as Record<string, string>;
      if (request.headers['x-glowfleet'] !== '1')
        return json(response, 403, { code: 'forbidden', message: 'Only the pages of this gateway may do that.' });
      const done = answerOf(() => acted(body));
      sockets.emit('alerts', inbox.news());
      return json(response, done.status, done.body);
    }
    const told = /^\/api\/chambers\/([^/]+)\/reasons$/.exec(url.pathname);
    if (told && request.method === 'POST') {
      const body = JSON.parse(await text(request)) as Omit<ReasonRow, 'entry' | 'chamber'>;
      const since = { until: body.to, enteredAt: now(), downtime: null, workedOn: [], withdrawnAt: null, withdrawnBy: null };
      const row = { ...body, ...since, entry: `e${reasons.length + 1}`, chamber: decodeURIComponent(told[1]!) };
      reasons = [row, ...reasons];
      return json(response, 200, row);
    }
    const back = /^\/api\/reasons\/([^/]+)\/withdraw$/.exec(url.pathname);
    if (back && request.method === 'POST') {
      const { by } = JSON.parse(await text(request)) as { by: string };
      reasons = reasons.map((row) => (row.entry === back[1] ? { ...row, withdrawnAt: now(), withdrawnBy: by } : row));
      return json(response, 200, reasons.find((row) => row.entry === back[1]) ?? null);
    }
    const tested = /^\/api\/routes\/([^/]+)\/test$/.exec(url.pathname);
    if (tested && request.method === 'POST') return json(response, 200, testedBy(decodeURIComponent(tested[1]!), now()));
    const sentAgain = /^\/api\/routes\/([^/]+)\/resend$/.exec(url.pathname);
    if (sentAgain && request.method === 'POST') return json(response, 200, { count: givenUpOf(now()).length });
    if (url.pathname === '/api/alarms') return journal(url.searchParams, response);
    const data = resource(url);
    const most = Number(url.searchParams.get('limit'));
    const isCut = url.pathname === '/api/runs' && Array.isArray(data) && data.length > most;
    if (isCut) response.setHeader('x-more', 'true');
    if (data !== undefined)
      return json(
        response,
        data === null ? 404 : 200,
        (isCut ? data.slice(0, most) : data) ?? { code: 'not-found', message: 'No such thing here.' },
      );
    await file(dist, url.pathname, response);
  };

  const ids = (): string[] => fleet.chambers.map(({ chamber }) => chamber);
  const journal = async (query: URLSearchParams, response: ServerResponse): Promise<void> => {
    const most = Number(query.get('limit') ?? 500);
    const rows = await journalOf(ids(), query, now());
    const last = rows[most - 1];
    if (rows.length > most && last) response.setHeader('x-next', `${last.at}.${last.seq}`);
    json(response, 200, rows.slice(0, most));
  };

  /** Undefined: not ours, a file perhaps. Null: not found. */
  const resource = (url: URL): unknown => {
    if (url.pathname === '/health/ready') return { ready: true, problems: [] };
    if (!url.pathname.startsWith('/api/')) return undefined;
    const chamber = /^\/api\/chambers\/([^/]+)(\/trace)?$/.exec(url.pathname);
    const known = fleet.chambers.find((t) => t.chamber === decodeURIComponent(chamber?.[1] ?? ''));
    if (chamber && known && chamber[2])
      return traceOf(known.chamber, Number(url.searchParams.get('from')), Number(url.searchParams.get('to')));
    if (chamber && known) return toldDetail(detailOf(known, now()));
    if (url.pathname === '/api/alarm-statistics') return alarmStatisticsOf(ids(), url.searchParams, now());
    if (url.pathname === '/api/drift') return driftOf(fleet.chambers, now());
    if (url.pathname === '/api/counters') return countersOf(fleet.chambers, now());
    if (url.pathname.startsWith('/api/drift/')) return chamberDriftOf(decodeURIComponent(url.pathname.slice(11)), now());
    if (url.pathname === '/api/reason-list') return DEFAULT_REASONS;
    if (url.pathname === '/api/reasons') return reasons.filter((row) => [null, row.chamber].includes(url.searchParams.get('chamber')));
    if (url.pathname === '/api/stops') return stopsOf(fleet.chambers, now(), reasons, url.searchParams.get('chamber'));
    if (url.pathname === '/api/alerts') return inbox.rows(url.searchParams);
    if (url.pathname === '/api/mutes') return inbox.mutes();
    if (url.pathname === '/api/routes') return routesOf(now());
    if (url.pathname === '/api/deliveries') return givenUpOf(now());
    const one = /^\/api\/alerts\/([^/]+)(\/evidence)?$/.exec(url.pathname);
    if (one) return inbox[one[2] ? 'evidence' : 'row'](decodeURIComponent(one[1]!));
    if (/^\/api\/runs\/[^/]+\/record$/.test(url.pathname)) return recordOf();
    if (url.pathname === '/api/runs') return fleet.chambers.flatMap((t) => runsOf(t, now()));
    if (url.pathname === '/api/servers') return serversOf(now());
    if (url.pathname === '/api/site') return siteAnswerOf(now());
    if (url.pathname === '/api/numbers')
      return weekOf(chambers).chambers.filter(({ chamber: id }) => id === url.searchParams.get('chamber'));
    if (url.pathname === '/api/explain') return exampleExplanation(url.searchParams.get('number') ?? '');
    if (url.pathname === '/api/equipment-time') {
      const asked = fleet.chambers.find((t) => t.chamber === url.searchParams.get('chamber'));
      return asked ? detailOf(asked, now()).today : [];
    }
    if (url.pathname === '/api/weeks') return [weekLineOf(chambers)];
    if (/^\/api\/weeks\/[^/]+\/mail$/.test(url.pathname)) return { letters: [], revised: [] };
    if (url.pathname.startsWith('/api/weeks/')) return weekOf(chambers);
    return null;
  };

  /** What was told lies over the pieces that begin with it. */
  const toldDetail = (detail: ChamberDetail): ChamberDetail => ({
    ...detail,
    today: detail.today.map((piece) => {
      const row = reasons.find((one) => one.withdrawnAt === null && one.chamber === piece.chamber && one.from === piece.from);
      const observed = { state: piece.state, reason: piece.reason };
      return row ? { ...piece, state: row.state, reason: row.reason, source: 'person', entry: row.entry, observed } : piece;
    }),
  });

  /** What a post to that address does; null for another address. */
  const inboxAct = (path: string): ((body: Record<string, string>) => unknown) | null => {
    const [, id = '', deed = ''] = /^\/api\/alerts\/([^/]+)\/(acknowledge|take|give-back|comment)$/.exec(path) ?? [];
    if (deed !== '') return (body) => inbox.act(decodeURIComponent(id), deed, body);
    if (path === '/api/mutes') return (body) => inbox.mute(body);
    const [, mute = ''] = /^\/api\/mutes\/(\d+)\/unmute$/.exec(path) ?? [];
    return mute === '' ? null : ({ by = '' }) => inbox.unmute(Number(mute), by);
  };

  sockets.on('connection', (socket) => {
    let watched: string | null = null;
    socket.on('hello', (message: unknown) => {
      hellos.push(message);
      socket.emit('fleet', { ...fleet, now: now() });
      socket.emit('alerts', inbox.news());
    });
    socket.on('watch', (message: { chamber: string | null }) => (watched = message.chamber));
    const values = setInterval(() => {
      if (watched === null) return;
      const at = now();
      const signals = detailOf(first.chambers[0]!, at).signals;
      socket.emit('values', { chamber: watched, now: at, values: signals.map((signal) => ({ signal, at, value: sample(signal, at) })) });
    }, 250);
    socket.on('disconnect', () => clearInterval(values));
  });

  const tell = (): void => {
    const at = now();
    const tiles = fleet.chambers.map((t) => (t.link === 'live' ? { ...t, heardAt: at } : t));
    const message: Changes = { boot, rev: fleet.rev + 1, seq: fleet.seq, now: at, chambers: tiles, strip: onStrip(strip(tiles, at)) };
    fleet = { ...fleet, rev: message.rev, now: at, chambers: tiles };
    sockets.emit('changes', message);
  };
  const beat = setInterval(tell, 1000);
  const say: MockGateway['say'] = (chamber, change) => {
    fleet = { ...fleet, chambers: fleet.chambers.map((t) => (t.chamber === chamber ? { ...t, ...change } : t)) };
    tell();
  };

  const call: MockGateway['call'] = (alert) => {
    inbox.add(alert);
    sockets.emit('alerts', inbox.news());
  };

  const sayStrip: MockGateway['sayStrip'] = (change) => {
    onStrip = change;
    tell();
  };

  await new Promise<void>((resolve) => server.listen(port, '127.0.0.1', resolve));
  const bound = (server.address() as { port: number }).port;
  return { url: `http://127.0.0.1:${bound}`, port: bound, hellos, inbox, call, say, sayStrip, stop: () => stop(server, sockets, beat) };
}

async function stop(server: Server, sockets: SocketServer, beat: NodeJS.Timeout): Promise<void> {
  clearInterval(beat);
  if (!server.listening) return;
  sockets.disconnectSockets(true);
  const closed = sockets.close();
  server.closeAllConnections();
  await closed;
}

async function text(request: IncomingMessage): Promise<string> {
  const parts: Buffer[] = [];
  for await (const part of request) parts.push(part as Buffer);
  return Buffer.concat(parts).toString('utf8');
}

const STATUS: Readonly<Record<string, number>> = { invalid: 400, 'not-found': 404, conflict: 409 };

/** A refusal as the gateway words it. */
function answerOf(act: () => unknown): { status: number; body: unknown } {
  try {
    return { status: 200, body: act() };
  } catch (error) {
    const code = faultCode(error);
    return { status: STATUS[code] ?? 500, body: { code, message: (error as Error).message } };
  }
}

function json(response: ServerResponse, status: number, body: unknown): void {
  response.writeHead(status, { 'content-type': 'application/json' }).end(JSON.stringify(body));
}

function fail(response: ServerResponse, error: unknown): void {
  json(response, 500, { code: 'internal', message: String(error) });
}

async function file(dist: string, path: string, response: ServerResponse): Promise<void> {
  const name = TYPES[extname(path)] ? normalize(path) : '/index.html';
  const body = await readFile(join(dist, name)).catch(() => null);
  if (!body) return json(response, 404, { code: 'not-found', message: `No file ${name}.` });
  response
    .writeHead(200, { 'content-type': TYPES[extname(name)] ?? 'application/octet-stream', 'content-security-policy': POLICY })
    .end(body);
}

if (import.meta.main) {
  const mock = await startMockGateway({ chambers: Number(process.argv[3] ?? 12), port: Number(process.argv[2] ?? 8499) });
  console.log(mock.url);
}
