/**
 * The web side of the gateway: pages, API, API description, on loopback unless told otherwise. Plain http: TLS is a proxy's work, and
 * `publicUrl` then names the address people use.
 * ASVS 5.0 V3.4: content security policy with default-src 'self', no framing, no plug-ins.
 */
import type { Server } from 'node:http';
import helmet from '@fastify/helmet';
import rateLimit from '@fastify/rate-limit';
import Fastify, { type FastifyInstance } from 'fastify';
import { serializerCompiler, validatorCompiler, type ZodTypeProvider } from 'fastify-type-provider-zod';
import { Fault } from '../../src/fault.ts';
import type { Answers } from './answers-port.ts';
import { alarmActRoutes } from './routes-alarm-acts.ts';
import { alarmStatisticsRoutes } from './routes-alarm-statistics.ts';
import { alertActRoutes } from './routes-alert-acts.ts';
import { alertRoutes } from './routes-alerts.ts';
import { deliveryRoutes } from './routes-deliveries.ts';
import { bookRoutes } from './routes-books.ts';
import { describeApi } from './docs.ts';
import { driftRoutes } from './routes-drift.ts';
import { guard } from './guard.ts';
import { liveRoutes } from './routes-live.ts';
import { isLoopback, isOwnOrigin, ownOrigins, type OwnAddress } from './origin.ts';
import { servePages } from './pages.ts';
import { sendProblem, type HttpLog } from './problem.ts';
import { reasonRoutes } from './routes-reasons.ts';
import { runRoutes } from './routes-runs.ts';
import { explainRoutes } from './routes-explain.ts';
import { paperRoutes } from './routes-papers.ts';
import { siteRoutes } from './routes-site.ts';
import { weekRoutes } from './routes-weeks.ts';

export type HttpParts = {
  readonly answers: Answers;
  readonly address: OwnAddress;
  /** The built dashboard. */
  readonly distFolder: string;
  readonly version: string;
  readonly log: HttpLog;
};

export type OpenHttp = {
  /** Where the page is, with the port that was really taken. */
  readonly url: string;
  readonly server: Server;
  /** Whether a socket may be opened by this asker; no Origin passes only from this machine (a probe, a script). */
  readonly mayConnect: (origin: string | undefined, remoteAddress: string | undefined) => boolean;
  /** Ends open connections too; resolves when the port is free. */
  close(): Promise<void>;
};

const BODY_LIMIT_BYTES = 16 * 1024;
const READS_PER_MINUTE = 3_000;
const REQUEST_TIMEOUT_MS = 30_000;

export async function openHttp(parts: HttpParts): Promise<OpenHttp> {
  const own: { origins: ReadonlySet<string> } = { origins: new Set() };
  const app = await buildApp(parts, () => own.origins);
  const port = await listen(app, parts.address);
  own.origins = ownOrigins({ ...parts.address, port });
  return {
    url: parts.address.publicUrl ?? pageUrl(parts.address.host, port),
    server: app.server,
    mayConnect: (origin, remote) => isOwnOrigin(origin, own.origins) || (origin === undefined && isLoopback(remote)),
    close: () => app.close(),
  };
}

/** The app without a port, for `inject`. `own` is what the guard compares names and origins with. */
export async function buildApp(parts: HttpParts, own: () => ReadonlySet<string>): Promise<FastifyInstance> {
  const app = Fastify({
    bodyLimit: BODY_LIMIT_BYTES,
    requestTimeout: REQUEST_TIMEOUT_MS,
    forceCloseConnections: true,
    // An address that cannot be read at all never reaches a route or its error handler.
    frameworkErrors: (error, request, reply) => sendProblem(parts.log)(error, request, reply),
    routerOptions: { maxParamLength: 400 },
  }).withTypeProvider<ZodTypeProvider>();
  app.setValidatorCompiler(validatorCompiler);
  app.setSerializerCompiler(serializerCompiler);
  app.setErrorHandler(sendProblem(parts.log));
  await app.register(helmet, SECURITY_HEADERS);
  await app.register(rateLimit, { max: READS_PER_MINUTE, timeWindow: 60_000 });
  guard(app, own);
  await describeApi(app, parts.version);
  app.addHook('onRequest', async (request, reply) => {
    if (request.url.startsWith('/api/') || request.url.startsWith('/health/')) reply.header('cache-control', 'no-store');
  });
  liveRoutes(app, parts.answers);
  runRoutes(app, parts.answers);
  bookRoutes(app, parts.answers);
  alarmStatisticsRoutes(app, parts.answers);
  alarmActRoutes(app, parts.answers);
  weekRoutes(app, parts.answers);
  paperRoutes(app, parts.answers);
  explainRoutes(app, parts.answers);
  driftRoutes(app, parts.answers);
  alertRoutes(app, parts.answers);
  deliveryRoutes(app, parts.answers);
  alertActRoutes(app, parts.answers);
  reasonRoutes(app, parts.answers);
  siteRoutes(app, parts.answers);
  await servePages(app, parts.distFolder);
  await app.ready();
  return app;
}

/** No HSTS and no upgrade of requests: on plain http in a plant network both would lock the page out. */
const SECURITY_HEADERS = {
  contentSecurityPolicy: {
    useDefaults: false,
    directives: {
      defaultSrc: ["'self'"],
      imgSrc: ["'self'", 'data:'],
      objectSrc: ["'none'"],
      baseUri: ["'none'"],
      formAction: ["'self'"],
      frameAncestors: ["'none'"],
    },
  },
  strictTransportSecurity: false,
  crossOriginOpenerPolicy: false,
  originAgentCluster: false,
} as const;

async function listen(app: FastifyInstance, address: OwnAddress): Promise<number> {
  try {
    await app.listen({ host: address.host, port: address.port });
  } catch (error) {
    await app.close();
    throw listenFault(error, address);
  }
  const bound = app.server.address();
  return typeof bound === 'object' && bound !== null ? bound.port : address.port;
}

function listenFault(error: unknown, { host, port }: OwnAddress): unknown {
  switch ((error as NodeJS.ErrnoException).code) {
    case 'EADDRINUSE':
      return new Fault(
        'unavailable',
        `Port ${port} on ${host} is already in use. Stop the program that holds it, or choose another port with --port.`,
        error,
      );
    case 'EACCES':
      return new Fault('unavailable', `Port ${port} may not be opened by this user. Choose one above 1023 with --port.`, error);
    case 'EADDRNOTAVAIL':
    case 'ENOTFOUND':
      return new Fault('invalid', `This machine has no address ${host}. Choose 127.0.0.1, 0.0.0.0 or one of its own with --host.`, error);
    default:
      return error;
  }
}

const pageUrl = (host: string, port: number): string =>
  `http://${host.includes(':') ? `[${host}]` : host === '0.0.0.0' ? 'localhost' : host}:${port}`;
