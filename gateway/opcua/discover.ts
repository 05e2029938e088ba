/** One look at an unknown server, for a person at the command line: what it offers and what is in it. Nothing is written to it. */
import { MessageSecurityMode, type OPCUAClient } from 'node-opcua';
import { browseServer, type Browsed } from './browse.ts';
import type { ServerPart } from './client.ts';
import { inOneSession } from './one-session.ts';

export type Offer = { readonly security: string; readonly policy: string };
export type Look = Browsed & { readonly offers: readonly Offer[] };

const WORDS: Readonly<Record<number, string>> = {
  [MessageSecurityMode.None]: 'none',
  [MessageSecurityMode.Sign]: 'sign',
  [MessageSecurityMode.SignAndEncrypt]: 'sign-and-encrypt',
};

export const lookAt = (server: ServerPart, pkiFolder: string): Promise<Look> =>
  inOneSession(server, pkiFolder, async ({ session, client }) => ({ ...(await browseServer(session)), offers: await offersOf(client) }));

async function offersOf(client: OPCUAClient): Promise<readonly Offer[]> {
  const endpoints = await client.getEndpoints();
  return endpoints.map(({ securityMode, securityPolicyUri }) => ({
    security: WORDS[securityMode] ?? 'unknown',
    policy: securityPolicyUri?.split('#').at(-1) ?? '',
  }));
}
