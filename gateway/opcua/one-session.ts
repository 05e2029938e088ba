/** One session with one server, for a question at the command line: connected, asked, closed, and any failure as one sentence with its cure. */
import type { ClientSession, OPCUAClient } from 'node-opcua';
import { Fault } from '../../src/fault.ts';
import { createClient, openCertificates, silenceLibrary, type ServerPart } from './client.ts';
import type { CertificateFacts } from './certificate-store.ts';
import { identityOf } from './identity.ts';
import { refusalBy, sentence } from './sentence.ts';

const LONGEST_MS = 60_000;

export type Asked = { readonly session: ClientSession; readonly client: OPCUAClient; readonly shown: CertificateFacts | null };

export async function inOneSession<T>(server: ServerPart, pkiFolder: string, ask: (asked: Asked) => Promise<T>): Promise<T> {
  silenceLibrary();
  const certificates = await openCertificates(pkiFolder);
  const client = createClient(server, certificates);
  const late = setTimeout(() => void client.disconnect(), LONGEST_MS);
  try {
    const identity = await identityOf(server);
    await client.connect(server.endpoint);
    const session = await client.createSession(identity);
    const answer = await ask({ session, client, shown: certificates.shown });
    await session.close();
    return answer;
  } catch (error) {
    if (error instanceof Fault) throw error;
    throw new Fault('unavailable', sentence(error, refusalBy(server, pkiFolder, certificates.shown)), error);
  } finally {
    clearTimeout(late);
    await client.disconnect().catch(() => undefined);
    await certificates.dispose();
  }
}
