/**
 * The shape every group of routes shares: zod schemas in, zod schemas out, a problem for everything that goes wrong.
 */
import type { FastifyBaseLogger, FastifyInstance, RawReplyDefaultExpression, RawRequestDefaultExpression, RawServerDefault } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import * as z from 'zod';
import { problem } from '../../src/contract.ts';

export type Api = FastifyInstance<
  RawServerDefault,
  RawRequestDefaultExpression,
  RawReplyDefaultExpression,
  FastifyBaseLogger,
  ZodTypeProvider
>;

const failure = (description: string) => ({ description, content: { 'application/json': { schema: problem } } });

/** The problems that a read may end in, for the API page. */
export const PROBLEMS = {
  400: failure('The question is not well formed; the message says what, where and what is allowed.'),
  404: failure('Nothing of that name is known.'),
  429: failure('Too many requests from this address.'),
  503: failure('The store cannot answer now.'),
} as const;

export const ACT_PROBLEMS = {
  ...PROBLEMS,
  403: failure('The request does not come from a page of this gateway.'),
  409: failure('Somebody else was faster.'),
} as const;

/** A CSV answer: RFC 4180, head line with units, times as ISO 8601 UTC. */
export const CSV_ANSWER = {
  description:
    'CSV (RFC 4180), UTF-8, head line with units, times as ISO 8601 UTC, missing values empty. Digits: seconds to the millisecond, hours and shares to six places (they are added up); what a gauge measured four figures, means and rates three; traces and points of charts seven, so that they can be computed again.',
  content: { 'text/csv': { schema: z.string() } },
} as const;

export const TIMES = 'Times are epoch milliseconds UTC, spans half-open [from, to), durations milliseconds.';
export const SHARES =
  'Shares are 0..1 over observed time, with base, coverage and the bounds that hold whatever unobserved time was; null where under 80 % was observed.';
