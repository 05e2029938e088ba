/**
 * The built dashboard. Hashed assets may be kept for a year, the page itself is asked for each time; a .br or .gz beside a file is served
 * instead of it. Every address that is neither the API's nor a file's is the dashboard's own and gets its one page; the files are those of
 * the folder, and a full stop further down (an alert's id holds a time) makes none. The folder is looked into at each request, so that a
 * dashboard built anew is served without a restart.
 */
import { existsSync } from 'node:fs';
import { stat } from 'node:fs/promises';
import { join, sep } from 'node:path';
import fastifyStatic from '@fastify/static';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { Fault } from '../../src/fault.ts';

const PAGE = 'index.html';
const NOT_FOUND_PER_MINUTE = 300;

export async function servePages(app: FastifyInstance, distFolder: string): Promise<void> {
  await app.register(fastifyStatic, {
    root: distFolder,
    serve: false,
    preCompressed: true,
    cacheControl: false,
    dotfiles: 'ignore',
    setHeaders: (reply, path) => void reply.header('cache-control', isHashed(path) ? 'public, max-age=31536000, immutable' : 'no-cache'),
  });
  app.get(
    '/*',
    { schema: { hide: true }, config: { rateLimit: false } },
    async (request: FastifyRequest<{ Params: { '*': string } }>, reply) => {
      const name = request.params['*'] === '' ? PAGE : request.params['*'];
      return (await isFile(distFolder, name)) ? reply.sendFile(name) : reply.callNotFound();
    },
  );
  // Guessing addresses is limited too.
  app.setNotFoundHandler({ preHandler: app.rateLimit({ max: NOT_FOUND_PER_MINUTE, timeWindow: 60_000 }) }, async (request, reply) => {
    if (!isPageAddress(request)) throw new Fault('not-found', 'There is nothing at this address. All addresses are listed at /api/docs.');
    if (!existsSync(join(distFolder, PAGE)))
      throw new Fault('not-found', 'The dashboard is not built. Run `npm run build`. The API is at /api/docs.');
    return sendPage(reply);
  });
}

/** Of the folder, not beside it. A name that no file can have names none. */
async function isFile(distFolder: string, name: string): Promise<boolean> {
  const path = join(distFolder, name);
  if (!path.startsWith(join(distFolder, sep))) return false;
  return stat(path).then(
    (found) => found.isFile(),
    () => false,
  );
}

const isHashed = (path: string): boolean => /[\\/]assets[\\/]/.test(path);

function isPageAddress(request: FastifyRequest): boolean {
  const path = request.url.split('?')[0] ?? '/';
  const asksForPage = ['GET', 'HEAD'].includes(request.method) && (request.headers.accept ?? '*/*').match(/text\/html|\*\/\*/) !== null;
  const machine = /^\/(api|health\/(live|ready)|socket\.io)(\/|$)/.test(path);
  const file = path.startsWith('/assets/') || /^\/[^/]*\.[a-z0-9]{1,8}$/i.test(path);
  return asksForPage && !machine && !file;
}

function sendPage(reply: FastifyReply): FastifyReply {
  return reply.code(200).sendFile(PAGE);
}
