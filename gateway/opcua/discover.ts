/** One look at an unknown server, for a person at the command line: what it offers and what is in it. Nothing is written to it. */
import { MessageSecurityMode, type OPCUAClient } from 'node-opcua';
import { Fault } from '../../src/fault.ts';
import { browseServer, type Browsed } from './browse.ts';
import { createClient, openCertificates, silenceLibrary, type ServerPart } from './client.ts';
import { identityOf } from './identity.ts';
import { refusalBy, sentence } from './sentence.ts';

export type Offer = { readonly security: string; readonly policy: string };
export type Look = Browsed & { readonly offers: readonly Offer[] };

const LONGEST_MS = 60_000;
const WORDS: Readonly<Record<number, string>> = {
  [MessageSecurityMode.None]: 'none',
  [MessageSecurityMode.Sign]: 'sign',
  [MessageSecurityMode.SignAndEncrypt]: 'sign-and-encrypt',
};

export async function lookAt(server: ServerPart, pkiFolder: string): Promise<Look> {
  silenceLibrary();
  const certificates = await openCertificates(pkiFolder);
  const client = createClient(server, certificates);
  const late = setTimeout(() => void client.disconnect(), LONGEST_MS);
  try {
    await client.connect(server.endpoint);
    const offers = await offersOf(client);
    const session = await client.createSession(await identityOf(server));
    const browsed = await browseServer(session);
    await session.close();
    return { ...browsed, offers };
  } catch (error) {
    throw new Fault('unavailable', sentence(error, refusalBy(server, pkiFolder, certificates.shown)), error);
  } finally {
    clearTimeout(late);
    await client.disconnect().catch(() => undefined);
    await certificates.dispose();
  }
}

async function offersOf(client: OPCUAClient): Promise<readonly Offer[]> {
  const endpoints = await client.getEndpoints();
  return endpoints.map(({ securityMode, securityPolicyUri }) => ({
    security: WORDS[securityMode] ?? 'unknown',
    policy: securityPolicyUri?.split('#').at(-1) ?? '',
  }));
}
