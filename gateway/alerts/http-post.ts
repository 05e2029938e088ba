/**
 * One POST to a receiver outside: to addresses that were judged before, with a time limit over all of it. No redirect is followed and the
 * answer's text is never read.
 */
import { request as httpRequest, type IncomingMessage } from 'node:http';
import { request as httpsRequest } from 'node:https';
import type { LookupFunction } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';
import { allowedAddresses, type Address, type Allowed, type Resolve } from './address.ts';
import type { Outcome } from './retry.ts';

export type Post = {
  readonly url: string;
  readonly allowPrivate: boolean;
  readonly headers: Readonly<Record<string, string>>;
  readonly body: string;
  readonly timeoutMs: number;
  readonly resolve?: Resolve | undefined;
  /** As the sentences call the receiver: 'webhook'. */
  readonly whom: string;
};

export async function post(message: Post): Promise<Outcome> {
  const url = new URL(message.url);
  const allowed = await Promise.race([allowedAddresses(url.hostname, message.allowPrivate, message.resolve), noName(url, message)]);
  if ('refusal' in allowed) {
    const { sentence, mayPass } = allowed.refusal;
    return mayPass ? { type: 'failed', reason: sentence, afterMs: null } : { type: 'refused', reason: sentence };
  }
  try {
    const { statusCode = 0, headers } = await send(url, message, allowed.addresses);
    return outcomeOf(message.whom, statusCode, headers['retry-after'] ?? null, Date.parse(headers.date ?? ''));
  } catch (error) {
    return { type: 'failed', reason: reasonOf(error, message), afterMs: null };
  }
}

/** A name server that says nothing holds up a route no longer than a receiver does. */
async function noName({ hostname }: URL, { timeoutMs }: Post): Promise<Allowed> {
  await wait(timeoutMs, undefined, { ref: false });
  return { refusal: { sentence: `The name ${hostname} was not resolved within ${timeoutMs / 1000} s.`, mayPass: true } };
}

/** Resolves with the head of the answer; what follows is not waited for. */
function send(url: URL, { headers, body, timeoutMs }: Post, addresses: readonly Address[]): Promise<IncomingMessage> {
  return new Promise((resolve, reject) => {
    const request = (url.protocol === 'https:' ? httpsRequest : httpRequest)(url, {
      method: 'POST',
      headers: { ...headers, 'content-length': String(Buffer.byteLength(body)) },
      agent: false,
      lookup: pinned(addresses),
      signal: AbortSignal.timeout(timeoutMs),
    });
    request.once('response', (response) => {
      response.on('error', () => undefined);
      resolve(response);
      request.destroy();
    });
    request.on('error', reject);
    request.end(body);
  });
}

/** The name is not asked for again: what it says now might not be what was judged. */
const pinned =
  (addresses: readonly Address[]): LookupFunction =>
  (_host, options, done) => {
    const [first] = addresses as readonly [Address];
    if (options.all === true) done(null, [...addresses]);
    else done(null, first.address, first.family);
  };

/** 2xx is delivered; 408, 429 and 5xx may pass; every other answer will be the same tomorrow. */
export function outcomeOf(whom: string, status: number, retryAfter: string | null, date: number): Outcome {
  if (status >= 200 && status < 300) return { type: 'delivered' };
  const reason = `The ${whom} answered ${status}.`;
  if (status === 408 || status === 429 || status >= 500) return { type: 'failed', reason, afterMs: retryAfterMs(retryAfter, date) };
  const cure =
    status >= 300 && status < 400
      ? ' Redirects are not followed: put the final address into the site file.'
      : ' Check the address in the site file.';
  return { type: 'refused', reason: reason + cure };
}

/** RFC 9110 10.2.3: seconds, or a date; a date is measured against the answer's own Date, so no two clocks are compared. */
function retryAfterMs(value: string | null, date: number): number | null {
  if (value === null) return null;
  if (/^\d{1,9}$/.test(value.trim())) return Number(value) * 1000;
  const wait = Date.parse(value) - date;
  return Number.isFinite(wait) ? Math.max(0, wait) : null;
}

function reasonOf(error: unknown, { timeoutMs, whom }: Post): string {
  const { name, code = '' } = error as NodeJS.ErrnoException;
  if (name === 'AbortError' || name === 'TimeoutError') return `The ${whom} did not answer within ${timeoutMs / 1000} s.`;
  if (code.startsWith('HPE_')) return `The ${whom} answered with something that is not HTTP (${code}).`;
  return `The ${whom} could not be reached${code === '' ? '' : ` (${code})`}. Is the receiver running?`;
}
