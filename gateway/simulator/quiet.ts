/**
 * The OPC UA library prints multi-line warnings, certificates included, to the console. A program that people watch says only its own
 * sentences: warnings are dropped, errors go where the caller wants them.
 */
import { setDebugLogger, setErrorLogger, setWarningLogger } from 'node-opcua';

export function quietLibrary(onError: (text: string) => void): void {
  const drop = (): void => {};
  setDebugLogger(drop);
  setWarningLogger(drop);
  setErrorLogger((...parts: unknown[]) => onError(parts.slice(1).map(String).join(' ').slice(0, 2000)));
}
