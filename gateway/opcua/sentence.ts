/**
 * The library's error texts as one sentence with its cure, for people. The texts are those of node-opcua 2.186. A Fault is a sentence already.
 */
import { dirname } from 'node:path';
import { Fault } from '../../src/fault.ts';
import { ownCertificate } from './certificate-store.ts';
import type { CertificateFacts } from './certificate-store.ts';
import type { ServerPart } from './client.ts';

export type Refusal = {
  readonly server: string;
  readonly endpoint: string;
  readonly security: string;
  readonly policy: string;
  readonly pkiFolder: string;
  /** Of our own certificate; '' when there is none yet. */
  readonly thumbprint: string;
  /** Of the certificate that the server showed; '' when it showed none. */
  readonly shown: string;
  /** As whom we read. */
  readonly user: ServerPart['user'];
};

export const refusalBy = (server: ServerPart, pkiFolder: string, shown: CertificateFacts | null): Refusal => ({
  server: server.name,
  endpoint: server.endpoint,
  security: server.security,
  policy: server.policy,
  pkiFolder,
  thumbprint: ownCertificate(pkiFolder)?.thumbprint ?? '',
  shown: shown?.thumbprint ?? '',
  user: server.user,
});

type Rule = { readonly when: RegExp; readonly say: (refusal: Refusal, match: RegExpExecArray) => string };

const RULES: readonly Rule[] = [
  {
    when: /rejected by server.*(BadSecurityChecksFailed|BadCertificate)|BadApplicationSignatureInvalid/,
    say: ({ server, thumbprint, pkiFolder }) =>
      `${server} does not trust this gateway. On ${server}, trust the certificate with thumbprint ${thumbprint || '(none yet)'} ` +
      `(file ${pkiFolder}/own/certs/client_certificate.pem).`,
  },
  {
    when: /BadCertificateUntrusted/,
    say: ({ server, pkiFolder, shown }) =>
      `The certificate of ${server} is not trusted yet. Compare its thumbprint${shown && ` ${shown}`} with the one shown on the machine, then: ` +
      `glowfleet trust --data ${typed(dirname(pkiFolder))} ${shown.slice(0, 8) || 'THUMBPRINT'}`,
  },
  {
    when: /Certificate verification failed with err (\w+)/,
    say: ({ server }, [, status = '']) =>
      `The certificate of ${server} is refused (${status}). Renew the certificate at ${server}, then trust the new one here.`,
  },
  {
    when: /Cannot find an Endpoint|BadSecurityPolicyRejected|BadSecurityModeRejected/,
    say: ({ server, endpoint, security, policy }) =>
      `${server} offers no endpoint with security ${security}${security === 'none' ? '' : ` and policy ${policy}`} at ${endpoint}. ` +
      `Switch it on at ${server}, or set security and policy of this server in the site file to what it offers.`,
  },
  {
    when: /BadTooManySessions|BadMaxConnectionsReached|BadTcpNotEnoughResources/,
    say: ({ server }) =>
      `${server} has no free session. Close other clients or raise its session limit; sessions left behind end by themselves within minutes.`,
  },
  {
    when: /Cannot find (ANONYMOUS|USERNAME|Certificate \(X509\)) user token policy/,
    say: ({ server, security }, [, kind = '']) =>
      `${server} takes no ${TOKEN_WORDS[kind] ?? 'such users'} over security ${security}. Allow them at ${server}, or name another user of it ` +
      `in the site file.`,
  },
  {
    when: /BadIdentityToken|BadUserAccessDenied|BadUserSignatureInvalid|BadIdentityChangeNotSupported/,
    say: ({ server, user }) => userRefused(server, user),
  },
  {
    when: /ENOTFOUND|EAI_AGAIN|getaddrinfo/,
    say: ({ server, endpoint }) =>
      `The host name in ${endpoint} is unknown. Correct the endpoint of ${server} in the site file, or the name service.`,
  },
  {
    when: /ECONNREFUSED|premature|socket has been disconnected|ECONNRESET|EPIPE/,
    say: ({ server, endpoint }) => `Nothing answers at ${endpoint}. Is ${server} running, and is its port right?`,
  },
  {
    when: /timed? ?out|ETIMEDOUT|BadTimeout|EHOSTUNREACH|ENETUNREACH/i,
    say: ({ server, endpoint }) =>
      `${server} did not answer in time at ${endpoint}. Check the cable, the address and any firewall in between.`,
  },
];

const TOKEN_WORDS: Readonly<Record<string, string>> = {
  ANONYMOUS: 'anonymous users',
  USERNAME: 'users with a password',
  'Certificate (X509)': 'users with a certificate',
};

function userRefused(server: string, user: Refusal['user']): string {
  if (user === undefined)
    return `${server} refuses anonymous reading. Allow anonymous users to read at ${server}, or name a user of it in the site file.`;
  if ('certificateFile' in user)
    return `${server} refuses the user certificate ${user.certificateFile}. Trust it at ${server} as a user's certificate, and see that it has not expired.`;
  const place = 'passwordFile' in user ? user.passwordFile : `the environment variable ${user.passwordEnv}`;
  return `${server} refuses the user ${user.name}. Put the right password into ${place}, and see that this user may read at ${server}.`;
}

/** For a command line. */
const typed = (path: string): string => (/[^\w./\\:~-]/.test(path) ? `"${path}"` : path);

const LONGEST = 160;

export function sentence(error: unknown, refusal: Refusal): string {
  if (error instanceof Fault) return error.message;
  const text = error instanceof Error ? error.message : String(error);
  for (const { when, say } of RULES) {
    const match = when.exec(text);
    if (match) return say(refusal, match);
  }
  const words = text
    .replace(/[^\x20-\x7e]+/g, ' ')
    .trim()
    .slice(0, LONGEST);
  return `${refusal.server} could not be read: ${words}. Trying again; see the machine's own log if this stays.`;
}
