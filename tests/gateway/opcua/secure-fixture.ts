/** Settings of a server about security and users, and certificates made for a test. */
import { join } from 'node:path';
import { MessageSecurityMode, OPCUACertificateManager, SecurityPolicy, UserTokenPolicy, UserTokenType } from 'node-opcua';
import type { OPCUAServer, OPCUAServerOptions } from 'node-opcua';

export type Offer = {
  readonly mode: MessageSecurityMode;
  readonly policies: readonly SecurityPolicy[];
  /** The one user with a password; nobody has one without it. */
  readonly user?: { readonly name: string; readonly password: string };
  readonly anonymous?: boolean;
  /** Whose certificates are trusted as users': the store's folder. */
  readonly userPki?: string;
  /** The server's own certificate and key. */
  readonly certificate?: { readonly certificateFile: string; readonly privateKeyFile: string };
};

export function offering({ mode, policies, user, anonymous = true, userPki, certificate }: Offer): OPCUAServerOptions {
  return {
    securityModes: [mode],
    securityPolicies: [...policies],
    allowAnonymous: anonymous,
    ...certificate,
    ...(userPki === undefined ? {} : { userCertificateManager: new OPCUACertificateManager({ rootFolder: userPki }) }),
    ...(user === undefined
      ? {}
      : { userManager: { isValidUser: (name: string, password: string) => name === user.name && password === user.password } }),
  };
}

/** Offers to take passwords in the clear, as old servers do; the library's options have no such thing. */
export function takeClearPasswords(server: OPCUAServer): void {
  const clear = { policyId: 'clear', tokenType: UserTokenType.UserName, securityPolicyUri: null };
  for (const endpoint of server.endpoints)
    for (const description of endpoint.endpointDescriptions()) description.userIdentityTokens?.push(new UserTokenPolicy(clear));
}

type Wish = { readonly uri: string; readonly subject?: string; readonly startDate?: Date; readonly days?: number };
const DAY_MS = 86_400_000;

/** With a key of its own. */
export async function makeCertificate(
  folder: string,
  { uri, subject = '/CN=Press line/O=Quellmoor', startDate = new Date(Date.now() - DAY_MS), days = 365 }: Wish,
): Promise<{ certificateFile: string; privateKeyFile: string }> {
  const maker = new OPCUACertificateManager({ rootFolder: folder });
  await maker.initialize();
  const certificateFile = join(folder, 'made.pem');
  await maker.createSelfSignedCertificate({
    applicationUri: uri,
    dns: ['127.0.0.1'],
    outputFile: certificateFile,
    subject,
    startDate,
    validity: days,
  });
  await maker.dispose();
  return { certificateFile, privateKeyFile: maker.privateKey };
}
