/** Asks for a port before anything else is done: a demo that builds its past for half a minute must not find out afterwards. */
import { createServer } from 'node:net';
import { Fault } from '../src/fault.ts';

export async function freePort({ host, port }: { readonly host: string; readonly port: number }): Promise<void> {
  if (port === 0) return;
  await new Promise<void>((resolve, reject) => {
    const probe = createServer();
    probe.once('error', (error: NodeJS.ErrnoException) => (error.code === 'EADDRINUSE' ? reject(taken(host, port, error)) : resolve()));
    probe.listen(port, host, () => probe.close(() => resolve()));
  });
}

const taken = (host: string, port: number, error: Error): Fault =>
  new Fault(
    'unavailable',
    `Port ${port} on ${host} is already in use. Stop the program that holds it, or choose another port with --port.`,
    error,
  );
