/**
 * Stands before every route: a name this gateway does not know is refused (a page that rebinds its own name to this address would
 * otherwise read everything as same-origin), and nothing is changed but from our own pages. ASVS 5.0 V3.5.
 */
import type { FastifyInstance, FastifyRequest } from 'fastify';
import { Fault } from '../../src/fault.ts';
import { isOwnOrigin } from './origin.ts';

const READS = ['GET', 'HEAD', 'OPTIONS'];

export function guard(app: FastifyInstance, own: () => ReadonlySet<string>): void {
  // After the rate limiter's onRequest, so that refused requests count too.
  app.addHook('preParsing', async (request: FastifyRequest) => {
    refuseStrangeName(request, own());
    if (!READS.includes(request.method)) refuseForeignAct(request, own());
  });
}

function refuseStrangeName(request: FastifyRequest, own: ReadonlySet<string>): void {
  if (request.url.startsWith('/health/') || own.size === 0) return;
  const host = request.headers.host ?? '';
  const known = [...own].some((origin) => origin.slice(origin.indexOf('//') + 2) === host);
  if (known) return;
  throw new Fault(
    'forbidden',
    'This gateway is not known under the name in the address bar. Start it with its public URL set to that address.',
  );
}

function refuseForeignAct(request: FastifyRequest, own: ReadonlySet<string>): void {
  if (!isOwnOrigin(request.headers.origin, own)) {
    throw new Fault('forbidden', 'This request does not come from a page of this gateway, so nothing was changed.');
  }
  if (request.headers['x-glowfleet'] !== '1')
    throw new Fault('forbidden', 'Send the header x-glowfleet: 1 with a request that changes something.');
  if (!/^application\/json\b/i.test(request.headers['content-type'] ?? '')) {
    throw new Fault('invalid', 'Send the request as content-type application/json.');
  }
}
