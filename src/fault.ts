/**
 * Errors with a code. The message is for people and says the cure; whatever has no code is `internal`, and its text stays in the log.
 */
export const FAULT_CODES = [
  'invalid',
  'not-found',
  'conflict',
  'unauthorized',
  'forbidden',
  'unavailable',
  'unreadable',
  'internal',
] as const;
export type FaultCode = (typeof FAULT_CODES)[number];

export class Fault extends Error {
  readonly code: FaultCode;
  constructor(code: FaultCode, message: string, cause?: unknown) {
    super(message, cause === undefined ? undefined : { cause });
    this.name = 'Fault';
    this.code = code;
  }
}

export const faultCode = (error: unknown): FaultCode => (error instanceof Fault ? error.code : 'internal');
