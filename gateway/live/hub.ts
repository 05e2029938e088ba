/**
 * The live side: tells every page what changed, at most 4 times a second, and that the gateway lives, every 2 s. The wire is
 * src/contract.ts. Websocket only, no compression: on a plant network it costs more processor than it saves line (CPU 0.8 against 2.8 %).
 *
 * Memory per page is bounded by construction: a page whose last message has not left the process yet is sent nothing, and later gets one
 * difference that covers all it missed. A page that stays stalled is cut; it reconnects and says what it saw last.
 */
import type { IncomingMessage, Server as HttpServer } from 'node:http';
import type { Socket as RawSocket } from 'node:net';
import { Server, type Socket } from 'socket.io';
import * as z from 'zod/mini';
import { hello, watch, type ToGateway, type ToPage } from '../../src/contract.ts';
import { LivePage } from './live-page.ts';
import type { AlertsView, LiveView } from './live-port.ts';
import { Refusals } from './refusals.ts';

type HubParts = {
  readonly server: HttpServer;
  readonly view: LiveView;
  readonly alerts: AlertsView;
  readonly mayConnect: (origin: string | undefined, remoteAddress: string | undefined) => boolean;
  /** Steady real milliseconds. */
  readonly steadyMs: () => number;
  readonly log: (message: string, error?: unknown) => void;
  readonly limits?: Partial<HubLimits>;
};

export type HubLimits = {
  readonly tickMs: number;
  readonly heartbeatMs: number;
  /** A page that took nothing for this long is cut. */
  readonly stallMs: number;
  /** A socket that says no hello for this long is cut. */
  readonly helloMs: number;
  readonly connections: number;
  readonly connectionsPerAddress: number;
  /** Inbound messages of one socket in 10 s. */
  readonly messagesPer10S: number;
  /** Bytes that may wait for one page outside the process's own buffers, before it is cut at once. */
  readonly waitingBytes: number;
  readonly pingMs: number;
};

export const HUB_LIMITS: HubLimits = {
  tickMs: 250,
  heartbeatMs: 2_000,
  stallMs: 10_000,
  helloMs: 10_000,
  connections: 500,
  connectionsPerAddress: 100,
  messagesPer10S: 50,
  waitingBytes: 8 * 1024 * 1024,
  pingMs: 5_000,
};

const MAX_MESSAGE_BYTES = 16 * 1024;

export type Hub = {
  /** Pages connected now. */
  readonly pages: () => number;
  /** Pages cut since the start, by reason: a stalled one, one that sent what it may not. */
  readonly cuts: () => ReadonlyMap<string, number>;
  /** Cuts every page; the http server stays. */
  close(): void;
};

export function openHub(parts: HubParts): Hub {
  const limits = { ...HUB_LIMITS, ...parts.limits };
  const pages = new Set<LivePage>();
  const connected = new Set<RawSocket>();
  const cuts = new Map<string, number>();
  const context = { view: parts.view, alerts: parts.alerts, steadyMs: parts.steadyMs, limits };
  const refusals = new Refusals(parts);
  const io = openSocketServer({ parts, limits, connected, refusals });
  io.on('connection', (socket) => {
    const page = new LivePage(socket, context, (reason) => cuts.set(reason, (cuts.get(reason) ?? 0) + 1));
    pages.add(page);
    socket.on('disconnect', () => pages.delete(page));
    listen(socket, page);
  });
  const timer = setInterval(() => {
    tick(pages, parts.view);
    refusals.tell();
  }, limits.tickMs);
  return {
    pages: () => pages.size,
    cuts: () => cuts,
    close: () => {
      clearInterval(timer);
      closeAll(io, connected);
    },
  };
}

type PageServer = Server<ToGateway, ToPage>;
type PageSocket = Socket<ToGateway, ToPage>;
/** `connected` are the raw sockets let in: a page counts from its upgrade on, not only once it has said something. */
type Door = { readonly parts: HubParts; readonly limits: HubLimits; readonly connected: Set<RawSocket>; readonly refusals: Refusals };

function openSocketServer(door: Door): PageServer {
  const io: PageServer = new Server(door.parts.server, {
    transports: ['websocket'],
    serveClient: false,
    perMessageDeflate: false,
    httpCompression: false,
    maxHttpBufferSize: MAX_MESSAGE_BYTES,
    pingInterval: door.limits.pingMs,
    pingTimeout: door.limits.pingMs,
    connectTimeout: door.limits.helloMs,
    // CORS settings do not protect a websocket upgrade; this does (ASVS 5.0 V4.4.2).
    allowRequest: (request, answer) => {
      const refusal = refusalOf(request, door);
      if (refusal === null) letIn(request.socket, door.connected);
      answer(refusal, refusal === null);
    },
  });
  // Without a listener an error event would end the process.
  io.engine.on('connection_error', (error: { message?: string; context?: { message?: string } }) =>
    door.refusals.add(error.context?.message ?? error.message ?? 'no reason given'),
  );
  return io;
}

function refusalOf(request: IncomingMessage, { parts, limits, connected }: Door): string | null {
  const address = request.socket.remoteAddress;
  if (!parts.mayConnect(request.headers.origin, address)) return 'not a page of this gateway';
  if (connected.size >= limits.connections) return 'too many pages are connected';
  const sameAddress = [...connected].filter((socket) => socket.remoteAddress === address).length;
  return sameAddress >= limits.connectionsPerAddress ? 'too many pages are connected from this address' : null;
}

function letIn(socket: RawSocket, connected: Set<RawSocket>): void {
  connected.add(socket);
  socket.once('close', () => connected.delete(socket));
}

/** Every inbound message passes its schema; anything else closes the socket. */
function listen(socket: PageSocket, page: LivePage): void {
  socket.on('error', () => page.cut('error'));
  socket.onAny((event: string, ...args: unknown[]) => {
    if (!page.mayListen()) return page.cut('flood');
    const message = readMessage(event, args);
    if (message === null) return page.cut('bad message');
    if (message.event === 'hello') page.greet(message.body);
    else page.watch(message.body.chamber);
  });
}

type Inbound = { event: 'hello'; body: z.infer<typeof hello> } | { event: 'watch'; body: z.infer<typeof watch> };

function readMessage(event: string, args: readonly unknown[]): Inbound | null {
  if (args.length !== 1) return null;
  if (event === 'hello') {
    const { data } = hello.safeParse(args[0]);
    return data === undefined ? null : { event, body: data };
  }
  if (event === 'watch') {
    const { data } = watch.safeParse(args[0]);
    return data === undefined ? null : { event, body: data };
  }
  return null;
}

/** Pages that saw the same revision share one difference; chambers watched by many share one reading of values. */
function tick(pages: Iterable<LivePage>, view: LiveView): void {
  const differences = remember((rev: number) => view.since(rev));
  const values = remember((chamber: string) => view.values(chamber));
  for (const page of pages) page.tick(differences, values);
}

function remember<K, V>(answer: (key: K) => V): (key: K) => V {
  const known = new Map<K, V>();
  return (key) => {
    if (!known.has(key)) known.set(key, answer(key));
    return known.get(key) as V;
  };
}

/** Not `io.close()`: that would close the http server too, which belongs to others, and wait for pages that take nothing. */
function closeAll(io: PageServer, connected: Set<RawSocket>): void {
  io.disconnectSockets(true);
  io.engine.close();
  for (const socket of connected) socket.destroy();
}
