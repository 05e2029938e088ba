/** One look at an unknown server, for a person at the command line: what it offers and what is in it. Nothing is written to it. */
import { MessageSecurityMode, OPCUAClient } from 'node-opcua';
import { Fault } from '../../src/fault.ts';
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

export async function lookAt(server: ServerPart, pkiFolder: string): Promise<Look> {
  try {
    return await inOneSession(server, pkiFolder, async ({ session, client }) => ({
      ...(await browseServer(session)),
      offers: await offersOf(client),
    }));
  } catch (error) {
    const offers = error instanceof Fault && / offers no endpoint /.test(error.message) ? await offersAt(server.endpoint) : [];
    if (offers.length === 0) throw error;
    const told = offers.map(({ security, policy }) =>
      security === 'none' ? '--security none' : `--security ${security} --policy ${policy}`,
    );
    throw new Fault('unavailable', `${server.endpoint} offers no such security. It offers: ${told.join('; or ')}.`, error);
  }
}

const SOON = { maxRetry: 0, initialDelay: 100, maxDelay: 100 };

/** Which endpoints there are may be asked without security and without a session (OPC 10000-4 5.5.4); nothing else is. */
async function offersAt(endpoint: string): Promise<readonly Offer[]> {
  const client = OPCUAClient.create({ endpointMustExist: false, connectionStrategy: SOON });
  try {
    await client.connect(endpoint);
    return await offersOf(client);
  } catch {
    // The first sentence stands: it says what was asked for and what to do.
    return [];
  } finally {
    await client.disconnect().catch(() => undefined);
  }
}

async function offersOf(client: OPCUAClient): Promise<readonly Offer[]> {
  const endpoints = await client.getEndpoints();
  const all = endpoints.map(({ securityMode, securityPolicyUri }) => ({
    security: WORDS[securityMode] ?? 'unknown',
    policy: securityPolicyUri?.split('#').at(-1) ?? '',
  }));
  return [...new Map(all.map((offer) => [`${offer.security} ${offer.policy}`, offer])).values()];
}
