/**
 * Fault code to HTTP status, in this one place. A Fault's sentence is for people; anything else is `internal` and its text stays in the log.
 */
import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { hasZodFastifySchemaValidationErrors } from 'fastify-type-provider-zod';
import { Fault, type FaultCode } from '../../src/fault.ts';

const STATUS: Readonly<Record<FaultCode, number>> = {
  invalid: 400,
  unauthorized: 401,
  forbidden: 403,
  'not-found': 404,
  conflict: 409,
  unreadable: 422,
  internal: 500,
  unavailable: 503,
};

const INTERNAL = 'Glowfleet could not answer because of a fault of its own. It is in the gateway log; please report it.';

export type HttpLog = (message: string, error?: unknown) => void;

type Problem = { readonly status: number; readonly code: FaultCode; readonly message: string };

/** What the asker is told about an error. */
function problemOf(error: unknown): Problem {
  if (error instanceof Fault)
    return { status: STATUS[error.code], code: error.code, message: error.code === 'internal' ? INTERNAL : error.message };
  if (hasZodFastifySchemaValidationErrors(error)) return { status: 400, code: 'invalid', message: inputSentence(error) };
  const status = clientStatus(error);
  if (status !== null) return { status, code: clientCode(status), message: clientSentence(status) };
  return { status: 500, code: 'internal', message: INTERNAL };
}

export function sendProblem(log: HttpLog) {
  return (error: unknown, request: FastifyRequest, reply: FastifyReply): void => {
    const { status, code, message } = problemOf(error);
    if (status >= 500) log(`${request.method} ${request.routeOptions.url ?? 'unknown route'} failed`, error);
    // A route that speaks CSV has set its type already; a problem is always JSON.
    void reply
      .code(status)
      .header('cache-control', 'no-store')
      .type('application/json; charset=utf-8')
      .serializer(JSON.stringify)
      .send({ code, message });
  };
}

/** What, where and what is allowed: "The query's `window` is wrong: Invalid option: expected one of ..." */
function inputSentence(error: {
  validation: { instancePath: string; message?: string | undefined }[];
  validationContext?: string | undefined;
}): string {
  const where =
    error.validationContext === 'querystring'
      ? 'query'
      : error.validationContext === 'params'
        ? 'path'
        : (error.validationContext ?? 'request');
  const faults = error.validation.map((fault) => {
    const name = fault.instancePath.replace(/^\//, '').replaceAll('/', '.');
    return `${name === '' ? `The ${where}` : `"${name}" in the ${where}`} is wrong: ${fault.message ?? 'not of the expected shape'}.`;
  });
  return faults.slice(0, 5).join(' ');
}

/** Fastify's own refusals: a body too large, not JSON, too many requests. */
function clientStatus(error: unknown): number | null {
  const status = (error as FastifyError | null)?.statusCode;
  return typeof status === 'number' && status >= 400 && status < 500 ? status : null;
}

function clientCode(status: number): FaultCode {
  if (status === 404) return 'not-found';
  return status === 429 ? 'unavailable' : 'invalid';
}

function clientSentence(status: number): string {
  switch (status) {
    case 404:
      return 'There is nothing at this address. All addresses are listed at /api/docs.';
    case 413:
      return 'The request is too large: at most 16 kB are taken.';
    case 414:
      return 'The address is too long.';
    case 415:
      return 'Send the request as content-type application/json.';
    case 429:
      return 'Too many requests from this address. Wait a minute and ask again.';
    default:
      return 'The request is not well formed: send valid JSON as described at /api/docs.';
  }
}
